# The base images can be replaced: any with Go for the first stage, and any at
# all, even an empty one, for the second.
ARG BUILD_IMAGE=golang:1.26
ARG RUN_IMAGE=gcr.io/distroless/static-debian12:nonroot

FROM ${BUILD_IMAGE} AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=0 go build -trimpath -ldflags="-s -w" -o /out/withy ./cli/withy

FROM ${RUN_IMAGE}
COPY --from=build /out/withy /usr/local/bin/withy
ENTRYPOINT ["/usr/local/bin/withy"]
CMD ["--help"]
