-- +goose Up
CREATE TABLE rooting_models (
    id          TEXT        NOT NULL,
    taxon_id    TEXT        NOT NULL,
    kind        TEXT        NOT NULL,
    treatment   TEXT        NOT NULL,
    heated      TEXT        NOT NULL,
    family      TEXT        NOT NULL,
    mu          REAL NOT NULL,
    sigma       REAL NOT NULL,
    batches     INTEGER     NOT NULL,
    basis       TEXT        NOT NULL,
    fitted_on   TEXT        NOT NULL,
    ended_on    TEXT       ,
    made_at     DATETIME NOT NULL,
    CONSTRAINT rooting_models_pkey PRIMARY KEY (id),
    CONSTRAINT rooting_models_pool_day UNIQUE (taxon_id, kind, treatment, heated, fitted_on),
    CONSTRAINT rooting_models_taxon_fkey FOREIGN KEY (taxon_id) REFERENCES taxa (id)
);
CREATE INDEX rooting_models_standing ON rooting_models (taxon_id) WHERE ended_on IS NULL;
CREATE INDEX rooting_models_ended ON rooting_models (ended_on) WHERE ended_on IS NOT NULL;
