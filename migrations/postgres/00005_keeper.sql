-- +goose Up
ALTER TABLE stands ADD COLUMN permit_required TEXT NOT NULL DEFAULT '';
ALTER TABLE stands ADD COLUMN permit_reason TEXT NOT NULL DEFAULT '';
ALTER TABLE stands ADD COLUMN protected_place TEXT NOT NULL DEFAULT '';
ALTER TABLE stands ADD COLUMN gathering_place_of TEXT NOT NULL DEFAULT '';

CREATE TABLE permits (
    id            TEXT    NOT NULL,
    number        TEXT    NOT NULL,
    number_key    TEXT COLLATE "C" NOT NULL,
    kind          TEXT    NOT NULL,
    issuer        TEXT    NOT NULL,
    land_manager  TEXT    NOT NULL,
    parcels       TEXT    NOT NULL,
    taxa          TEXT    NOT NULL,
    quantity      BIGINT,
    unit          TEXT    NOT NULL,
    people        TEXT    NOT NULL,
    valid_from    DATE     NOT NULL,
    valid_to      DATE,
    conditions    TEXT    NOT NULL,
    authority     TEXT    NOT NULL,
    paper         TEXT    NOT NULL,
    earlier       TEXT    NOT NULL,
    entered_by    TEXT    NOT NULL,
    version       INTEGER     NOT NULL,
    entered_at    TIMESTAMPTZ    NOT NULL,
    CONSTRAINT permits_pkey PRIMARY KEY (id),
    CONSTRAINT permits_number_key UNIQUE (number_key)
);
CREATE INDEX permits_by_end ON permits (valid_to, id);

CREATE TABLE permit_stands (
    permit_id   TEXT        NOT NULL,
    stand_id    TEXT        NOT NULL,
    version     INTEGER     NOT NULL,
    entered_at  TIMESTAMPTZ NOT NULL,
    ended_at    TIMESTAMPTZ,
    CONSTRAINT permit_stands_pkey PRIMARY KEY (permit_id, stand_id, version),
    CONSTRAINT permit_stands_permit_fkey FOREIGN KEY (permit_id) REFERENCES permits (id),
    CONSTRAINT permit_stands_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX permit_stands_by_stand ON permit_stands (stand_id, permit_id);
CREATE UNIQUE INDEX permit_stands_covered ON permit_stands (permit_id, stand_id) WHERE ended_at IS NULL;

CREATE TABLE crew_shares (
    id          TEXT NOT NULL,
    stand_id    TEXT NOT NULL,
    crew        TEXT NOT NULL,
    stems       INTEGER  NOT NULL,
    parents     INTEGER  NOT NULL,
    from_day    DATE  NOT NULL,
    to_day      DATE  NOT NULL,
    note        TEXT NOT NULL,
    set_by      TEXT NOT NULL,
    ended_on    DATE,
    entered_at  TIMESTAMPTZ NOT NULL,
    CONSTRAINT crew_shares_pkey PRIMARY KEY (id),
    CONSTRAINT crew_shares_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX crew_shares_by_stand ON crew_shares (stand_id, id);
CREATE INDEX crew_shares_held ON crew_shares (stand_id, to_day, id) WHERE ended_on IS NULL;

ALTER TABLE ledger ADD COLUMN share_id TEXT CONSTRAINT ledger_share_fkey REFERENCES crew_shares (id);
CREATE INDEX ledger_by_share ON ledger (share_id) WHERE share_id IS NOT NULL;
CREATE UNIQUE INDEX ledger_released_once ON ledger (share_id) WHERE kind = 'share_released';

ALTER TABLE batches ADD COLUMN permit_id TEXT CONSTRAINT batches_permit_fkey REFERENCES permits (id);
ALTER TABLE batches ADD COLUMN permit_quantity BIGINT NOT NULL DEFAULT 0;
ALTER TABLE batches ADD COLUMN share_id TEXT CONSTRAINT batches_share_fkey REFERENCES crew_shares (id);
ALTER TABLE batches ADD COLUMN qualifier TEXT NOT NULL DEFAULT '';
ALTER TABLE batches ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;
CREATE INDEX batches_by_permit ON batches (permit_id) WHERE permit_id IS NOT NULL;
CREATE INDEX batches_by_harvest ON batches (harvest_id);

CREATE TABLE spent_numbers (
    stand_id  TEXT NOT NULL,
    year      INTEGER  NOT NULL,
    number    INTEGER  NOT NULL,
    CONSTRAINT spent_numbers_pkey PRIMARY KEY (stand_id, year, number),
    CONSTRAINT spent_numbers_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);

CREATE TABLE parent_tallies (
    id           TEXT NOT NULL,
    batch_id     TEXT NOT NULL,
    stand_id     TEXT NOT NULL,
    taken_on     DATE  NOT NULL,
    tag          TEXT NOT NULL,
    tag_key      TEXT COLLATE "C" NOT NULL,
    stems        INTEGER  NOT NULL,
    cuttings     INTEGER  NOT NULL,
    sex          TEXT NOT NULL,
    replaced_at  TIMESTAMPTZ,
    entered_at   TIMESTAMPTZ NOT NULL,
    CONSTRAINT parent_tallies_pkey PRIMARY KEY (id),
    CONSTRAINT parent_tallies_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id),
    CONSTRAINT parent_tallies_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX parent_tallies_by_batch ON parent_tallies (batch_id, id);
CREATE INDEX parent_tallies_by_day ON parent_tallies (stand_id, taken_on);

CREATE TABLE determinations (
    id             TEXT NOT NULL,
    batch_id       TEXT NOT NULL,
    taxon_id       TEXT NOT NULL,
    before_id      TEXT NOT NULL,
    qualifier      TEXT NOT NULL,
    determined_on  DATE  NOT NULL,
    determined_by  TEXT NOT NULL,
    note           TEXT NOT NULL,
    entry          INTEGER  NOT NULL,
    entered_at     TIMESTAMPTZ NOT NULL,
    CONSTRAINT determinations_pkey PRIMARY KEY (id),
    CONSTRAINT determinations_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id),
    CONSTRAINT determinations_taxon_fkey FOREIGN KEY (taxon_id) REFERENCES taxa (id),
    CONSTRAINT determinations_before_fkey FOREIGN KEY (before_id) REFERENCES taxa (id)
);
CREATE INDEX determinations_by_batch ON determinations (batch_id, entry);

CREATE TABLE rests (
    id          TEXT NOT NULL,
    stand_id    TEXT NOT NULL,
    starts_on   DATE  NOT NULL,
    ends_on     DATE,
    why         TEXT NOT NULL,
    set_by      TEXT NOT NULL,
    batch_id    TEXT,
    set_at      TIMESTAMPTZ NOT NULL,
    entered_at  TIMESTAMPTZ NOT NULL,
    CONSTRAINT rests_pkey PRIMARY KEY (id),
    CONSTRAINT rests_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id),
    CONSTRAINT rests_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX rests_by_stand ON rests (stand_id, starts_on, id);

CREATE TABLE salvages (
    id          TEXT NOT NULL,
    stand_id    TEXT NOT NULL,
    starts_on   DATE  NOT NULL,
    ends_on     DATE  NOT NULL,
    authority   TEXT NOT NULL,
    why         TEXT NOT NULL,
    set_by      TEXT NOT NULL,
    entered_at  TIMESTAMPTZ NOT NULL,
    CONSTRAINT salvages_pkey PRIMARY KEY (id),
    CONSTRAINT salvages_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX salvages_by_stand ON salvages (stand_id, starts_on, id);

CREATE TABLE place_closures (
    id             TEXT    NOT NULL,
    place          TEXT    NOT NULL,
    place_key      TEXT COLLATE "C" NOT NULL,
    in_force_from  DATE     NOT NULL,
    closures       TEXT    NOT NULL,
    why            TEXT    NOT NULL,
    set_by         TEXT    NOT NULL,
    entered_at     TIMESTAMPTZ    NOT NULL,
    CONSTRAINT place_closures_pkey PRIMARY KEY (id)
);
CREATE INDEX place_closures_by_place ON place_closures (place_key, id);

CREATE TABLE nest_checks (
    id           TEXT    NOT NULL,
    stand_id     TEXT,
    place        TEXT    NOT NULL,
    place_key    TEXT COLLATE "C" NOT NULL,
    checked_on   DATE     NOT NULL,
    nests_found  BOOLEAN NOT NULL,
    checked_by   TEXT    NOT NULL,
    note         TEXT    NOT NULL,
    entered_at   TIMESTAMPTZ    NOT NULL,
    CONSTRAINT nest_checks_pkey PRIMARY KEY (id),
    CONSTRAINT nest_checks_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX nest_checks_by_stand ON nest_checks (stand_id, checked_on, id) WHERE stand_id IS NOT NULL;
CREATE INDEX nest_checks_by_place ON nest_checks (place_key, checked_on, id) WHERE stand_id IS NULL;

CREATE TABLE tool_cleanings (
    id          TEXT NOT NULL,
    stand_id    TEXT NOT NULL,
    cleaned_on  DATE  NOT NULL,
    cleaned_by  TEXT NOT NULL,
    how         TEXT NOT NULL,
    entered_at  TIMESTAMPTZ NOT NULL,
    CONSTRAINT tool_cleanings_pkey PRIMARY KEY (id),
    CONSTRAINT tool_cleanings_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id)
);
CREATE INDEX tool_cleanings_by_stand ON tool_cleanings (stand_id, cleaned_on, id);

CREATE TABLE corrections (
    id            TEXT NOT NULL,
    stand_id      TEXT NOT NULL,
    batch_id      TEXT,
    subject       TEXT NOT NULL,
    subject_id    TEXT NOT NULL,
    void          BOOLEAN NOT NULL,
    replaced_by   TEXT,
    before        TEXT NOT NULL,
    after         TEXT NOT NULL,
    why           TEXT NOT NULL,
    corrected_by  TEXT NOT NULL,
    about_entry   INTEGER  NOT NULL,
    entry         INTEGER  NOT NULL,
    entered_at    TIMESTAMPTZ NOT NULL,
    CONSTRAINT corrections_pkey PRIMARY KEY (id),
    CONSTRAINT corrections_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id),
    CONSTRAINT corrections_batch_fkey FOREIGN KEY (batch_id) REFERENCES batches (id)
);
CREATE INDEX corrections_by_subject ON corrections (subject_id, entered_at);
CREATE INDEX corrections_by_batch ON corrections (batch_id, entry) WHERE batch_id IS NOT NULL;
CREATE INDEX corrections_by_stand ON corrections (stand_id, id);

ALTER TABLE others_cuts ADD COLUMN ours BOOLEAN NOT NULL DEFAULT FALSE;

ALTER TABLE stickings ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE moves ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE splits ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE checks ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE pottings ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;
ALTER TABLE decisions ADD COLUMN void BOOLEAN NOT NULL DEFAULT FALSE;

UPDATE nursery SET settings = (nursery.settings::jsonb || jsonb_build_object(
    'thresholds', (nursery.settings::jsonb -> 'thresholds') || (added.settings -> 'thresholds'),
    'bases', (nursery.settings::jsonb -> 'bases') || (added.settings -> 'bases')))::text
FROM (SELECT '{"thresholds": {"permit_expiry_notice": 120, "few_parents": 5, "donor_share": 0.5},
    "bases": {
        "permit_expiry_notice": "our own choice: four months, since a new paper takes its time",
        "few_parents": "our own choice: an order wants fifty plants or more, and a batch from fewer than a handful brings little of them",
        "donor_share": "plants for an order are to come in similar numbers from each parent; more than half from one is the least that can be told"
    }}'::jsonb AS settings) added;
