# The base images can be replaced: any with Go and a shell for the first stage, and
# any at all, even an empty one, for the second: the program is static, knows all
# time zones, and takes along the certificates that a mail relay or a database
# reached by TLS needs.
ARG BUILD_IMAGE=golang:1.26
ARG RUN_IMAGE=scratch

FROM ${BUILD_IMAGE} AS build
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
# The history is not copied, so the revision is said: --build-arg REVISION=$(git rev-parse HEAD)
ARG REVISION=
RUN CGO_ENABLED=0 go build -trimpath -buildvcs=false -ldflags="-s -w -X withybed/cli.revision=${REVISION}" -o /out/withy ./cli/withy && mkdir -p /out/data

FROM ${RUN_IMAGE}
ARG REVISION=
LABEL org.opencontainers.image.title="Withybed" \
      org.opencontainers.image.description="Keeps wild stands within what they can spare, and follows each batch of cuttings from the cut to the pot" \
      org.opencontainers.image.licenses="Apache-2.0" \
      org.opencontainers.image.revision="${REVISION}"
COPY --from=build /etc/ssl/certs/ca-certificates.crt /etc/ssl/certs/ca-certificates.crt
COPY --from=build /out/withy /usr/local/bin/withy
# A new volume takes the owner of the folder it is put on.
COPY --from=build --chown=65532:65532 /out/data /data
USER 65532:65532
WORKDIR /data
VOLUME /data
ENV WITHY_DATABASE_URL=sqlite:/data/withybed.db \
    WITHY_LISTEN=0.0.0.0:8347 \
    XDG_DATA_HOME=/data
EXPOSE 8347
HEALTHCHECK --interval=30s --timeout=10s --start-period=30s --retries=3 \
    CMD ["/usr/local/bin/withy", "health", "--server", "http://127.0.0.1:8347"]
ENTRYPOINT ["/usr/local/bin/withy"]
CMD ["serve"]
