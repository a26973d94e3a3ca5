-- What photos look like; photos that were read before this was kept have none.
CREATE TABLE likeness (
    photo TEXT PRIMARY KEY REFERENCES photo (sha256),
    hash TEXT NOT NULL
);
-- The pieces of the hash: photos that are alike have a near one in common.
CREATE TABLE likeness_piece (
    piece BIGINT NOT NULL,
    photo TEXT NOT NULL REFERENCES likeness (photo),
    PRIMARY KEY (piece, photo)
);

-- By what an entry that was read is compared with others, empty where it is not certain, and the first entry of its
-- group: of those that show the same photo, and of those that show the same motor. Alone, it is the first itself.
CREATE TABLE same_motor (
    entry TEXT PRIMARY KEY REFERENCES entry (id),
    is_row BIGINT NOT NULL,
    serial TEXT NOT NULL,
    model TEXT NOT NULL,
    volts TEXT NOT NULL,
    first_by_photo TEXT NOT NULL REFERENCES entry (id),
    first_of_all TEXT NOT NULL REFERENCES entry (id)
);
CREATE INDEX same_motor_by_serial ON same_motor (serial);
CREATE INDEX same_motor_by_photo ON same_motor (first_by_photo);
CREATE INDEX same_motor_by_first ON same_motor (first_of_all);
