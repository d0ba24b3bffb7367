-- Plantings and their turnovers.

-- One crop on one system with its dates. A cut-and-come-again crop has no natural end date.
create table planting (
    id integer primary key not null,
    system_id integer not null references system (id),
    crop text not null check (length(crop) between 1 and 60),
    -- The day it was or will be planted.
    planted_on text not null check (planted_on glob '????-??-??'),
    -- The day it is to come off, and the day the next one is to go on.
    turnover_on text check (turnover_on glob '????-??-??'),
    next_on text check (next_on glob '????-??-??'),
    next_crop text check (length(next_crop) between 1 and 60),
    -- What really happened. An intended planting that will not be is dropped.
    stage text not null check (stage in ('intended', 'growing', 'off', 'dropped')),
    off_on text check (off_on glob '????-??-??'),
    -- A crop that stood there when the system was entered did not need a release.
    already_growing integer not null default 0 check (already_growing in (0, 1)),
    -- The released clean-out that this planting went on after. A release clears one planting.
    cleared_by integer unique references cleanout (id),
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check (turnover_on is null or turnover_on >= planted_on),
    check (next_on is null or (turnover_on is not null and next_on >= turnover_on)),
    check ((stage = 'off') = (off_on is not null)),
    check (off_on is null or off_on >= planted_on),
    -- Nothing is planted into a system that was not released for it.
    check (stage in ('intended', 'dropped') or already_growing = 1 or cleared_by is not null)
) strict;

create index planting_by_system on planting (system_id, planted_on);
create unique index planting_one_growing on planting (system_id) where stage = 'growing';

-- A moved date keeps the old one beside it.
create table turnover_move (
    id integer primary key not null,
    planting_id integer not null references planting (id),
    old_turnover_on text check (old_turnover_on glob '????-??-??'),
    old_next_on text check (old_next_on glob '????-??-??'),
    new_turnover_on text check (new_turnover_on glob '????-??-??'),
    new_next_on text check (new_next_on glob '????-??-??'),
    reason text not null,
    -- Null where an import on the command line moved it.
    person_id integer references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index turnover_move_by_planting on turnover_move (planting_id, id);
create trigger turnover_move_is_not_changed before update on turnover_move begin select raise(abort, 'moves are added to, never changed'); end;
create trigger turnover_move_is_not_deleted before delete on turnover_move begin select raise(abort, 'moves are added to, never changed'); end;
