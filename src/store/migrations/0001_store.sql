-- The store. Every statement is understood by SQLite and by PostgreSQL alike.
-- Times are milliseconds since 1970 in UTC; JSON is text.

CREATE TABLE photo (
    sha256 TEXT PRIMARY KEY,
    bytes BIGINT NOT NULL,
    media_type TEXT NOT NULL,
    width BIGINT,
    height BIGINT,
    added_ms BIGINT NOT NULL
);

CREATE TABLE entry (
    id TEXT PRIMARY KEY,
    source TEXT NOT NULL,
    source_detail TEXT NOT NULL,
    part BIGINT NOT NULL,
    file_name TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('queued', 'reading', 'read', 'failed')),
    failure_kind TEXT,
    failure_message TEXT,
    -- For the list, so that no record has to be opened for it.
    class TEXT NOT NULL,
    questions BIGINT NOT NULL,
    search TEXT NOT NULL,
    -- Who reads it now, and until when nobody else may.
    worker TEXT,
    lease_until_ms BIGINT,
    attempts BIGINT NOT NULL,
    created_ms BIGINT NOT NULL,
    changed_ms BIGINT NOT NULL
);
CREATE INDEX entry_by_state ON entry (state, created_ms, id);
CREATE INDEX entry_by_age ON entry (created_ms, id);

CREATE TABLE entry_photo (
    entry TEXT NOT NULL REFERENCES entry (id),
    position BIGINT NOT NULL,
    photo TEXT NOT NULL REFERENCES photo (sha256),
    PRIMARY KEY (entry, position)
);
CREATE INDEX entry_photo_by_photo ON entry_photo (photo);

-- One line: the number and the hash of the last event, so that events are numbered without gaps.
CREATE TABLE chain (
    id BIGINT PRIMARY KEY,
    seq BIGINT NOT NULL,
    hash TEXT NOT NULL
);
INSERT INTO chain (id, seq, hash) VALUES (1, 0, '');

-- What happened, never changed: each line holds the hash of the line before it.
CREATE TABLE event (
    seq BIGINT PRIMARY KEY,
    at_ms BIGINT NOT NULL,
    who TEXT NOT NULL,
    kind TEXT NOT NULL,
    entry TEXT,
    detail TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL
);
CREATE INDEX event_by_entry ON event (entry, seq);

CREATE TABLE reading (
    entry TEXT NOT NULL REFERENCES entry (id),
    seq BIGINT NOT NULL REFERENCES event (seq),
    record TEXT NOT NULL,
    models TEXT NOT NULL,
    rules TEXT NOT NULL,
    PRIMARY KEY (entry, seq)
);

CREATE TABLE confirmation (
    seq BIGINT PRIMARY KEY REFERENCES event (seq),
    entry TEXT NOT NULL REFERENCES entry (id),
    field TEXT NOT NULL,
    state_before TEXT NOT NULL,
    value_before TEXT,
    printed TEXT NOT NULL,
    who TEXT NOT NULL,
    at_ms BIGINT NOT NULL,
    undone_by BIGINT REFERENCES event (seq)
);
CREATE INDEX confirmation_by_entry ON confirmation (entry, seq);

CREATE TABLE stock_list (
    seq BIGINT PRIMARY KEY REFERENCES event (seq),
    name TEXT NOT NULL,
    sha256 TEXT NOT NULL,
    mapping TEXT NOT NULL,
    motors BIGINT NOT NULL,
    faults BIGINT NOT NULL,
    who TEXT NOT NULL,
    at_ms BIGINT NOT NULL,
    undone_by BIGINT REFERENCES event (seq)
);

CREATE TABLE match_run (
    seq BIGINT PRIMARY KEY REFERENCES event (seq),
    entry TEXT NOT NULL REFERENCES entry (id),
    stock_list BIGINT NOT NULL REFERENCES stock_list (seq),
    requirement TEXT NOT NULL,
    result TEXT NOT NULL,
    rules TEXT NOT NULL
);
CREATE INDEX match_run_by_entry ON match_run (entry, seq);

-- Phones and browsers that were let in. Only the hash of what they show is kept.
CREATE TABLE device (
    token_hash TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    paired_ms BIGINT NOT NULL,
    revoked_ms BIGINT
);
