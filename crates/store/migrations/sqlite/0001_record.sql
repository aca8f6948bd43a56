-- One store holds one organisation: its logs (one a year), the lines in them, and its settings.
-- A place is log * 2^40 + index, so that one integer key keeps each log together and in order.

-- "RATW": tells this database from those of other programs.
PRAGMA application_id = 1380013143;

CREATE TABLE fence (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    epoch INTEGER NOT NULL
) STRICT;
INSERT INTO fence (one, epoch) VALUES (1, 0);

CREATE TABLE logs (
    log INTEGER PRIMARY KEY,
    origin TEXT NOT NULL UNIQUE,
    size INTEGER NOT NULL,
    root BLOB NOT NULL,
    rx_ms INTEGER NOT NULL,
    -- The fence's epoch, repeated so that one condition guards every append.
    epoch INTEGER NOT NULL,
    closing BLOB
) STRICT;

CREATE TABLE chains (
    chain INTEGER PRIMARY KEY,
    watch TEXT NOT NULL,
    dev BLOB NOT NULL,
    UNIQUE (watch, dev)
) STRICT;

CREATE TABLE lines (
    place INTEGER PRIMARY KEY,
    chain INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    id BLOB NOT NULL,
    rx_ms INTEGER NOT NULL,
    rxe_ms INTEGER NOT NULL,
    signature BLOB NOT NULL,
    bytes BLOB NOT NULL
) STRICT;
CREATE UNIQUE INDEX lines_in_chain ON lines (chain, seq);

-- The bytes are null once erased; the row stays and says so.
CREATE TABLE private_lines (
    place INTEGER PRIMARY KEY,
    bytes BLOB
) STRICT;

-- Lines that came before the lines they follow.
CREATE TABLE held (
    chain INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    id BLOB NOT NULL,
    prev BLOB NOT NULL,
    signature BLOB NOT NULL,
    bytes BLOB NOT NULL,
    private BLOB,
    PRIMARY KEY (chain, seq)
) STRICT;

-- Lines whose place in the chain another line holds.
CREATE TABLE quarantine (
    id BLOB PRIMARY KEY,
    chain INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    other BLOB NOT NULL,
    rx_ms INTEGER NOT NULL,
    signature BLOB NOT NULL,
    bytes BLOB NOT NULL,
    private BLOB
) STRICT;

-- Hashes of the tree, 256 to a row. Level 0 holds leaf hashes and only full rows; level k holds
-- the nodes over 256^k leaves, and its last row grows.
CREATE TABLE tiles (
    log INTEGER NOT NULL,
    level INTEGER NOT NULL,
    tile INTEGER NOT NULL,
    hashes BLOB NOT NULL,
    PRIMARY KEY (log, level, tile)
) STRICT;

-- Signed heads, each written after its high-water mark.
CREATE TABLE heads (
    log INTEGER NOT NULL,
    size INTEGER NOT NULL,
    root BLOB NOT NULL,
    note TEXT NOT NULL,
    PRIMARY KEY (log, size)
) STRICT;

CREATE TABLE settings (
    collection TEXT NOT NULL,
    key TEXT NOT NULL,
    version INTEGER NOT NULL,
    value TEXT NOT NULL,
    PRIMARY KEY (collection, key)
) STRICT;

-- Whatever can be made again from the record.
CREATE TABLE derived_values (
    collection TEXT NOT NULL,
    key TEXT NOT NULL,
    value BLOB NOT NULL,
    PRIMARY KEY (collection, key)
) STRICT;
