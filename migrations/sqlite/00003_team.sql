-- +goose Up
ALTER TABLE taxa ADD COLUMN identity_marks TEXT NOT NULL DEFAULT '';

CREATE TABLE tokens (
    id            TEXT        NOT NULL,
    handle        TEXT        NOT NULL,
    hash          TEXT        NOT NULL,
    name          TEXT        NOT NULL,
    name_key      TEXT NOT NULL,
    role          TEXT        NOT NULL,
    land_manager  TEXT        NOT NULL,
    ends_on       TEXT        NOT NULL,
    ends_at       DATETIME NOT NULL,
    made_by       TEXT        NOT NULL,
    made_at       DATETIME NOT NULL,
    revoked_by    TEXT        NOT NULL,
    revoked_at    DATETIME,
    CONSTRAINT tokens_pkey PRIMARY KEY (id),
    CONSTRAINT tokens_handle_key UNIQUE (handle)
);
CREATE INDEX tokens_by_name ON tokens (name_key, id);

CREATE TABLE people (
    id          TEXT        NOT NULL,
    code        TEXT        NOT NULL,
    code_key    TEXT NOT NULL,
    name        TEXT        NOT NULL,
    email       TEXT        NOT NULL,
    phone       TEXT        NOT NULL,
    note        TEXT        NOT NULL,
    mail        TEXT        NOT NULL,
    erased_at   DATETIME,
    version     INTEGER     NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT people_pkey PRIMARY KEY (id),
    CONSTRAINT people_code_key UNIQUE (code_key)
);

CREATE TABLE changes (
    id          TEXT        NOT NULL,
    made_at     DATETIME NOT NULL,
    made_by     TEXT        NOT NULL,
    token_id    TEXT        NOT NULL,
    role        TEXT        NOT NULL,
    request     TEXT        NOT NULL,
    request_id  TEXT        NOT NULL,
    detail      TEXT,
    CONSTRAINT changes_pkey PRIMARY KEY (id)
);
CREATE INDEX changes_by_maker ON changes (made_by, id);

CREATE TABLE outbox (
    id          TEXT        NOT NULL,
    occasion    TEXT        NOT NULL,
    address     TEXT        NOT NULL,
    message_id  TEXT        NOT NULL,
    subject     TEXT        NOT NULL,
    text        TEXT        NOT NULL,
    html        TEXT        NOT NULL,
    made_at     DATETIME NOT NULL,
    try_at      DATETIME NOT NULL,
    tries       INTEGER     NOT NULL,
    held_by     TEXT        NOT NULL,
    held_until  DATETIME,
    sent_at     DATETIME,
    given_up_at DATETIME,
    trouble     TEXT        NOT NULL,
    CONSTRAINT outbox_pkey PRIMARY KEY (id),
    CONSTRAINT outbox_once UNIQUE (occasion, address)
);
CREATE INDEX outbox_waiting ON outbox (try_at, id) WHERE sent_at IS NULL AND given_up_at IS NULL;
CREATE INDEX outbox_given_up ON outbox (given_up_at) WHERE given_up_at IS NOT NULL;

CREATE TABLE others_cuts (
    id          TEXT        NOT NULL,
    stand_id    TEXT        NOT NULL,
    ledger_id   TEXT        NOT NULL,
    cut_from    TEXT        NOT NULL,
    cut_to      TEXT        NOT NULL,
    low         INTEGER     NOT NULL,
    high        INTEGER     NOT NULL,
    cut_by      TEXT        NOT NULL,
    evidence    TEXT        NOT NULL,
    entered_by  TEXT        NOT NULL,
    entered_at  DATETIME NOT NULL,
    CONSTRAINT others_cuts_pkey PRIMARY KEY (id),
    CONSTRAINT others_cuts_stand_fkey FOREIGN KEY (stand_id) REFERENCES stands (id),
    CONSTRAINT others_cuts_ledger_fkey FOREIGN KEY (ledger_id) REFERENCES ledger (id)
);
CREATE INDEX others_cuts_by_stand ON others_cuts (stand_id, cut_to, id);
