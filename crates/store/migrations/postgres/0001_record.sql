-- One store holds one organisation: its logs (one a year), the lines in them, and its settings.
-- A place is log * 2^40 + index, so that one integer key keeps each log together and in order.

CREATE TABLE fence (
    one BIGINT PRIMARY KEY CHECK (one = 1),
    epoch BIGINT NOT NULL
);
INSERT INTO fence (one, epoch) VALUES (1, 0);

CREATE TABLE logs (
    log BIGINT PRIMARY KEY,
    origin TEXT COLLATE "C" NOT NULL UNIQUE,
    size BIGINT NOT NULL,
    root BYTEA NOT NULL,
    rx_ms BIGINT NOT NULL,
    closing BYTEA
);

CREATE TABLE chains (
    chain BIGINT PRIMARY KEY,
    watch TEXT COLLATE "C" NOT NULL,
    dev BYTEA NOT NULL,
    UNIQUE (watch, dev)
);

CREATE TABLE lines (
    place BIGINT PRIMARY KEY,
    chain BIGINT NOT NULL REFERENCES chains (chain),
    seq BIGINT NOT NULL,
    id BYTEA NOT NULL,
    rx_ms BIGINT NOT NULL,
    rxe_ms BIGINT NOT NULL,
    signature BYTEA NOT NULL,
    bytes BYTEA NOT NULL
);
CREATE UNIQUE INDEX lines_in_chain ON lines (chain, seq);

-- The bytes are null once erased; the row stays and says so.
CREATE TABLE private_lines (
    place BIGINT PRIMARY KEY,
    bytes BYTEA
);

-- Lines that came before the lines they follow.
CREATE TABLE held (
    chain BIGINT NOT NULL REFERENCES chains (chain),
    seq BIGINT NOT NULL,
    id BYTEA NOT NULL,
    prev BYTEA NOT NULL,
    signature BYTEA NOT NULL,
    bytes BYTEA NOT NULL,
    private BYTEA,
    PRIMARY KEY (chain, seq)
);

-- Lines whose place in the chain another line holds.
CREATE TABLE quarantine (
    id BYTEA PRIMARY KEY,
    chain BIGINT NOT NULL REFERENCES chains (chain),
    seq BIGINT NOT NULL,
    other BYTEA NOT NULL,
    rx_ms BIGINT NOT NULL,
    signature BYTEA NOT NULL,
    bytes BYTEA NOT NULL,
    private BYTEA
);

-- Hashes of the tree, 256 to a row. Level 0 holds leaf hashes and only full rows; level k holds
-- the nodes over 256^k leaves, and its last row grows.
CREATE TABLE tiles (
    log BIGINT NOT NULL REFERENCES logs (log),
    level BIGINT NOT NULL,
    tile BIGINT NOT NULL,
    hashes BYTEA NOT NULL,
    PRIMARY KEY (log, level, tile)
);

-- Signed heads, each written after its high-water mark.
CREATE TABLE heads (
    log BIGINT NOT NULL REFERENCES logs (log),
    size BIGINT NOT NULL,
    root BYTEA NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (log, size)
);

CREATE TABLE settings (
    collection TEXT COLLATE "C" NOT NULL,
    key TEXT COLLATE "C" NOT NULL,
    version BIGINT NOT NULL,
    value TEXT NOT NULL,
    PRIMARY KEY (collection, key)
);

-- Whatever can be made again from the record.
CREATE TABLE derived_values (
    collection TEXT COLLATE "C" NOT NULL,
    key TEXT COLLATE "C" NOT NULL,
    value BYTEA NOT NULL,
    PRIMARY KEY (collection, key)
);
