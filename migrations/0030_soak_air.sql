-- Who says, or which measurement shows, that the air of a room stays below the limit while solution stands open in its
-- benches; empty where nobody does. With it a room is closed from the last pour on, without it through the soak.
alter table room add column soak_air text not null default '' check (length(soak_air) <= 2000);
