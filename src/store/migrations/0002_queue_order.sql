-- What waits is taken by how often it was begun, then by age.
DROP INDEX entry_by_state;
CREATE INDEX entry_by_state ON entry (state, attempts, created_ms, id);
