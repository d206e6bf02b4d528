-- +goose Up
CREATE TABLE job_runs (
    job     TEXT        NOT NULL,
    period  TEXT        NOT NULL,
    done_at TIMESTAMPTZ NOT NULL,
    CONSTRAINT job_runs_pkey PRIMARY KEY (job, period)
);
