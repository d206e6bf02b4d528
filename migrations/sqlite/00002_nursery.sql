-- +goose Up
CREATE TABLE nursery (
    id        TEXT        NOT NULL,
    settings  TEXT        NOT NULL,
    version   INTEGER     NOT NULL,
    made_at   DATETIME NOT NULL,
    CONSTRAINT nursery_pkey PRIMARY KEY (id)
);

CREATE TABLE idempotency_keys (
    caller   TEXT        NOT NULL,
    route    TEXT        NOT NULL,
    key      TEXT        NOT NULL,
    hash     TEXT        NOT NULL,
    result   TEXT        NOT NULL,
    made_at  DATETIME NOT NULL,
    CONSTRAINT idempotency_keys_pkey PRIMARY KEY (caller, route, key)
);
CREATE INDEX idempotency_keys_by_age ON idempotency_keys (made_at);

CREATE TABLE taxa (
    id               TEXT        NOT NULL,
    name_key         TEXT        NOT NULL,
    scientific_name  TEXT        NOT NULL,
    common_name      TEXT        NOT NULL,
    family           TEXT        NOT NULL,
    dioecious        BOOLEAN     NOT NULL,
    protected        BOOLEAN     NOT NULL,
    slow_to_root     BOOLEAN     NOT NULL,
    soak_days        INTEGER,
    version          INTEGER     NOT NULL,
    entered_at       DATETIME NOT NULL,
    CONSTRAINT taxa_pkey PRIMARY KEY (id),
    CONSTRAINT taxa_name_key UNIQUE (name_key)
);

CREATE TABLE stands (
    id                        TEXT             NOT NULL,
    code                      TEXT             NOT NULL,
    code_key                  TEXT             NOT NULL,
    name                      TEXT             NOT NULL,
    taxon_id                  TEXT             NOT NULL,
    place                     TEXT             NOT NULL,
    locality                  TEXT             NOT NULL,
    land_manager              TEXT             NOT NULL,
    latitude                  REAL,
    longitude                 REAL,
    coordinate_uncertainty_m  REAL,
    sensitivity               TEXT             NOT NULL,
    version                   INTEGER          NOT NULL,
    entered_at                DATETIME      NOT NULL,
    CONSTRAINT stands_pkey PRIMARY KEY (id),
    CONSTRAINT stands_code_key UNIQUE (code_key),
    CONSTRAINT stands_taxon_fkey FOREIGN KEY (taxon_id) REFERENCES taxa (id)
);
CREATE INDEX stands_by_taxon ON stands (taxon_id);

CREATE TABLE harvest_rules (
    id                 TEXT        NOT NULL,
    stand_id           TEXT        NOT NULL,
    in_force_from      TEXT        NOT NULL,
    stand_cap          INTEGER      NOT NULL,
    per_plant_cap      INTEGER      NOT NULL,
    window_days        INTEGER     NOT NULL,
    survey_valid_days  INTEGER     NOT NULL,
    basis              TEXT        NOT NULL,
    why                TEXT        NOT NULL,
    set_by             TEXT        NOT NULL,
    entered_at         DATETIME NOT NULL,
    CONSTRAINT harvest_rules_pkey PRIMARY KEY (id),
    CONSTRAINT harvest_rules_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX harvest_rules_by_stand ON harvest_rules (stand_id, id);

CREATE TABLE closure_versions (
    id             TEXT        NOT NULL,
    stand_id       TEXT        NOT NULL,
    in_force_from  TEXT        NOT NULL,
    closures       TEXT        NOT NULL,
    why            TEXT        NOT NULL,
    set_by         TEXT        NOT NULL,
    entered_at     DATETIME NOT NULL,
    CONSTRAINT closure_versions_pkey PRIMARY KEY (id),
    CONSTRAINT closure_versions_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX closure_versions_by_stand ON closure_versions (stand_id, id);

CREATE TABLE surveys (
    id               TEXT             NOT NULL,
    stand_id         TEXT             NOT NULL,
    surveyed_on      TEXT             NOT NULL,
    method           TEXT             NOT NULL,
    plants           INTEGER,
    stems            INTEGER,
    counted_by_two   BOOLEAN          NOT NULL,
    plots            TEXT,
    clumps           TEXT,
    placement        TEXT,
    low              INTEGER,
    high             INTEGER,
    stem_definition  TEXT             NOT NULL,
    surveyed_by      TEXT             NOT NULL,
    estimate         REAL NOT NULL,
    standard_error   REAL,
    lower_bound      INTEGER           NOT NULL,
    confidence       INTEGER           NOT NULL,
    entered_at       DATETIME      NOT NULL,
    CONSTRAINT surveys_pkey PRIMARY KEY (id),
    CONSTRAINT surveys_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX surveys_by_day ON surveys (stand_id, surveyed_on, id);

CREATE TABLE disturbances (
    id           TEXT        NOT NULL,
    stand_id     TEXT        NOT NULL,
    happened_on  TEXT        NOT NULL,
    kind         TEXT        NOT NULL,
    reported_by  TEXT        NOT NULL,
    entered_at   DATETIME NOT NULL,
    CONSTRAINT disturbances_pkey PRIMARY KEY (id),
    CONSTRAINT disturbances_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX disturbances_by_day ON disturbances (stand_id, happened_on, id);

CREATE TABLE batches (
    id                TEXT             NOT NULL,
    code              TEXT             NOT NULL,
    code_key          TEXT             NOT NULL,
    stand_id          TEXT             NOT NULL,
    taxon_id          TEXT             NOT NULL,
    year              INTEGER          NOT NULL,
    number            INTEGER          NOT NULL,
    collected_on      TEXT             NOT NULL,
    stems_cut         INTEGER          NOT NULL,
    cuttings          INTEGER          NOT NULL,
    parent_plants     INTEGER,
    collected_by      TEXT             NOT NULL,
    identified_by     TEXT             NOT NULL,
    identification    TEXT             NOT NULL,
    record_number     TEXT,
    purpose           TEXT             NOT NULL,
    kind              TEXT             NOT NULL,
    length_cm         REAL,
    diameter_mm       REAL,
    nodes             INTEGER,
    wood_age_years    REAL,
    health            TEXT             NOT NULL,
    hours_to_water    REAL,
    note              TEXT             NOT NULL,
    already_cut       BOOLEAN          NOT NULL,
    reason            TEXT             NOT NULL,
    refused_by        TEXT             NOT NULL,
    awaits_review     BOOLEAN          NOT NULL,
    survey_id         TEXT,
    harvest_fraction  REAL,
    stand_fraction    REAL,
    harvest_id        TEXT             NOT NULL,
    split_from_id     TEXT,
    waiting_from      TEXT             NOT NULL,
    active            BOOLEAN          NOT NULL,
    ended_on          TEXT,
    version           INTEGER          NOT NULL,
    entered_at        DATETIME      NOT NULL,
    CONSTRAINT batches_pkey PRIMARY KEY (id),
    CONSTRAINT batches_code_key UNIQUE (code_key),
    CONSTRAINT batches_number UNIQUE (stand_id, year, number),
    CONSTRAINT batches_record_number UNIQUE (stand_id, collected_on, record_number),
    CONSTRAINT batches_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id),
    CONSTRAINT batches_taxon_fkey FOREIGN KEY (taxon_id) REFERENCES taxa (id),
    CONSTRAINT batches_survey_fkey FOREIGN KEY (survey_id) REFERENCES surveys (id),
    CONSTRAINT batches_harvest_fkey FOREIGN KEY (harvest_id) REFERENCES batches (id),
    CONSTRAINT batches_split_from_fkey FOREIGN KEY (split_from_id) REFERENCES batches (id)
);
CREATE INDEX batches_by_day ON batches (collected_on, id);
CREATE INDEX batches_by_stand_day ON batches (stand_id, collected_on, id);
CREATE INDEX batches_active ON batches (collected_on, id) WHERE active;
CREATE INDEX batches_by_end ON batches (ended_on) WHERE ended_on IS NOT NULL;
CREATE INDEX batches_to_review ON batches (collected_on, id) WHERE awaits_review;
CREATE INDEX batches_by_taxon ON batches (taxon_id, collected_on, id);

CREATE TABLE ledger (
    id          TEXT        NOT NULL,
    stand_id    TEXT        NOT NULL,
    batch_id    TEXT,
    kind        TEXT        NOT NULL,
    taken_on    TEXT        NOT NULL,
    stems       INTEGER     NOT NULL,
    parents     INTEGER     NOT NULL,
    corrects    TEXT,
    entered_by  TEXT        NOT NULL,
    why         TEXT        NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT ledger_pkey PRIMARY KEY (id),
    CONSTRAINT ledger_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id),
    CONSTRAINT ledger_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id),
    CONSTRAINT ledger_corrects_fkey FOREIGN KEY (corrects) REFERENCES ledger (id)
);
CREATE INDEX ledger_by_day ON ledger (stand_id, taken_on, stems, parents);
CREATE INDEX ledger_by_entry ON ledger (stand_id, id);
CREATE INDEX ledger_by_batch ON ledger (batch_id);

CREATE TABLE stickings (
    batch_id     TEXT        NOT NULL,
    stuck_on     TEXT        NOT NULL,
    count        INTEGER     NOT NULL,
    treatment    TEXT,
    medium       TEXT        NOT NULL,
    container    TEXT        NOT NULL,
    bench        TEXT        NOT NULL,
    bottom_heat  TEXT,
    mist         BOOLEAN     NOT NULL,
    stuck_by     TEXT        NOT NULL,
    entry        INTEGER     NOT NULL,
    entered_at   DATETIME NOT NULL,
    CONSTRAINT stickings_pkey PRIMARY KEY (batch_id),
    CONSTRAINT stickings_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX stickings_by_bench ON stickings (LOWER(bench), batch_id);

CREATE TABLE moves (
    id          TEXT        NOT NULL,
    batch_id    TEXT        NOT NULL,
    moved_on    TEXT        NOT NULL,
    moved_to    TEXT        NOT NULL,
    count       INTEGER     NOT NULL,
    used_for    TEXT        NOT NULL,
    cause       TEXT        NOT NULL,
    entry       INTEGER     NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT moves_pkey PRIMARY KEY (id),
    CONSTRAINT moves_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX moves_by_batch ON moves (batch_id, entry);

CREATE TABLE splits (
    id          TEXT        NOT NULL,
    batch_id    TEXT        NOT NULL,
    sister_id   TEXT        NOT NULL,
    split_on    TEXT        NOT NULL,
    count       INTEGER     NOT NULL,
    source      TEXT        NOT NULL,
    entry       INTEGER     NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT splits_pkey PRIMARY KEY (id),
    CONSTRAINT splits_sister_key UNIQUE (sister_id),
    CONSTRAINT splits_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id),
    CONSTRAINT splits_sister_fkey FOREIGN KEY (sister_id) REFERENCES batches (id)
);
CREATE INDEX splits_by_batch ON splits (batch_id, entry);

CREATE TABLE checks (
    id             TEXT        NOT NULL,
    batch_id       TEXT        NOT NULL,
    checked_on     TEXT        NOT NULL,
    rooted         INTEGER,
    potting_roots  INTEGER,
    overlong       INTEGER,
    unrooted       INTEGER,
    lost           TEXT,
    lost_rooted    TEXT,
    withdrawn      INTEGER     NOT NULL,
    checked_by     TEXT        NOT NULL,
    method         TEXT        NOT NULL,
    examined       INTEGER,
    note           TEXT        NOT NULL,
    entry          INTEGER     NOT NULL,
    entered_at     DATETIME NOT NULL,
    CONSTRAINT checks_pkey PRIMARY KEY (id),
    CONSTRAINT checks_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX checks_by_batch ON checks (batch_id, entry);

CREATE TABLE pottings (
    id          TEXT        NOT NULL,
    batch_id    TEXT        NOT NULL,
    potted_on   TEXT        NOT NULL,
    count       INTEGER     NOT NULL,
    container   TEXT        NOT NULL,
    medium      TEXT        NOT NULL,
    bench       TEXT        NOT NULL,
    potted_by   TEXT        NOT NULL,
    entry       INTEGER     NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT pottings_pkey PRIMARY KEY (id),
    CONSTRAINT pottings_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX pottings_by_batch ON pottings (batch_id, entry);

CREATE TABLE decisions (
    id          TEXT        NOT NULL,
    batch_id    TEXT        NOT NULL,
    decided_on  TEXT        NOT NULL,
    action      TEXT        NOT NULL,
    until_day   TEXT,
    decided_by  TEXT        NOT NULL,
    why         TEXT        NOT NULL,
    entry       INTEGER     NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT decisions_pkey PRIMARY KEY (id),
    CONSTRAINT decisions_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX decisions_by_batch ON decisions (batch_id, entry);

CREATE TABLE reviews (
    id           TEXT        NOT NULL,
    batch_id     TEXT        NOT NULL,
    accepted     BOOLEAN     NOT NULL,
    reason       TEXT        NOT NULL,
    reviewed_by  TEXT        NOT NULL,
    entry        INTEGER     NOT NULL,
    entered_at   DATETIME NOT NULL,
    CONSTRAINT reviews_pkey PRIMARY KEY (id),
    CONSTRAINT reviews_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX reviews_by_batch ON reviews (batch_id, entry);

CREATE TABLE flag_spans (
    id          TEXT NOT NULL,
    batch_id    TEXT NOT NULL,
    flag        TEXT NOT NULL,
    raised_on   TEXT NOT NULL,
    cleared_on  TEXT,
    reason      TEXT NOT NULL,
    CONSTRAINT flag_spans_pkey PRIMARY KEY (id),
    CONSTRAINT flag_spans_once UNIQUE (batch_id, flag, raised_on),
    CONSTRAINT flag_spans_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX flag_spans_standing ON flag_spans (batch_id, flag, id) WHERE cleared_on IS NULL;

CREATE TABLE reminders (
    id           TEXT        NOT NULL,
    week         TEXT        NOT NULL,
    speaks_of    TEXT        NOT NULL,
    made_at      DATETIME NOT NULL,
    covers_from  TEXT        NOT NULL,
    scheduled    BOOLEAN     NOT NULL,
    body         TEXT        NOT NULL,
    text         TEXT        NOT NULL,
    CONSTRAINT reminders_pkey PRIMARY KEY (id),
    CONSTRAINT reminders_week UNIQUE (week)
);

