-- +goose Up
-- Instants are declared DATETIME, by which the driver knows to read them back as instants.
CREATE TABLE job_runs (
    job     TEXT     NOT NULL,
    period  TEXT     NOT NULL,
    done_at DATETIME NOT NULL,
    CONSTRAINT job_runs_pkey PRIMARY KEY (job, period)
);
