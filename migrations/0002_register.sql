-- The register: rooms, systems and what a system is made of.

-- A room is a closed air space: what is breathed in it matters when concentrate is poured.
create table room (
    id integer primary key not null,
    site_id integer not null references site (id),
    name text not null check (length(name) between 1 and 60),
    air_volume_m3 integer check (air_volume_m3 between 1 and 100000),
    air_changes_per_day integer check (air_changes_per_day between 1 and 5000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (site_id, name)
) strict;

-- A system is one water loop. It gets sick, is dosed, cleaned and released as one.
create table system (
    id integer primary key not null,
    room_id integer not null references room (id),
    name text not null unique check (length(name) between 1 and 60),
    note text not null default '',
    laid_up_since text check (laid_up_since glob '????-??-??'),
    quarantined_since text check (quarantined_since glob '????-??-??'),
    quarantine_reason text,
    -- When a system is quarantined, the releases it had until then no longer let anything be planted:
    -- the last of them. A trigger beside the clean-outs writes it.
    releases_void_to integer references cleanout (id),
    -- Counts on whenever a measure of the loop changes. A measured fill speaks of the loop it was measured in.
    loop_version integer not null default 1 check (loop_version > 0),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check ((quarantined_since is null) = (quarantine_reason is null))
) strict;

-- The tank the pump draws from. A system has one.
create table reservoir (
    id integer primary key not null,
    system_id integer not null references system (id),
    -- Inside measures for the level marks; null where the walls are not straight.
    length_mm integer check (length_mm between 50 and 20000),
    width_mm integer check (width_mm between 50 and 20000),
    -- Litres to the brim, or as high as it is ever filled.
    capacity_ml integer not null check (capacity_ml between 1000 and 100000000),
    -- What must stand over the heel, benches flooded, so that the pump never sucks air.
    pump_need_ml integer not null check (pump_need_ml between 0 and 100000000),
    -- What stays in after the pump sucks air: it dilutes the next fill.
    heel_ml integer not null check (heel_ml between 0 and 100000000),
    heel_known text not null check (heel_known in ('measured', 'usual figure')),
    height_mm integer check (height_mm between 50 and 10000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check (heel_ml + pump_need_ml <= capacity_ml),
    check ((length_mm is null) = (width_mm is null))
) strict;

create unique index reservoir_in_use on reservoir (system_id) where retired_at is null;

-- A bench and its media bed. All heights go up from the lowest point of the bench floor.
create table bench (
    id integer primary key not null,
    system_id integer not null references system (id),
    name text not null check (length(name) between 1 and 60),
    length_mm integer not null check (length_mm between 100 and 50000),
    width_mm integer not null check (width_mm between 100 and 10000),
    floor_fall_mm integer not null check (floor_fall_mm between 0 and 500),
    wall_mm integer not null check (wall_mm between 10 and 1500),
    -- The standpipe sets the flood level while a crop grows.
    overflow_mm integer not null check (overflow_mm between 5 and 1500),
    media text not null check (media in ('clay', 'gravel', 'perlite', 'foamed glass', 'rice hulls', 'pumice', 'other', 'none')),
    -- Measured at the low end of the floor.
    media_depth_mm integer not null check (media_depth_mm between 0 and 1500),
    -- Whether the top of the bed is raked level or is as deep everywhere.
    media_lie text not null default 'level' check (media_lie in ('level', 'follows the floor')),
    -- Parts of the bed's bulk volume, in thousandths: what drains, and what stays held in the media.
    drainable_permille integer not null check (drainable_permille between 0 and 950),
    retained_permille integer not null check (retained_permille between 0 and 900),
    fractions_known text not null check (fractions_known in ('usual figure', 'given')),
    -- Grooves and sumps below the floor, and solids that stay in under water: blocks, pot feet.
    recess_ml integer not null default 0 check (recess_ml between 0 and 1000000),
    solids_ml integer not null default 0 check (solids_ml between 0 and 1000000),
    -- The length of riser pipe kept for this bench, if one is.
    riser_mm integer check (riser_mm between 1 and 1500),
    floor_height_mm integer check (floor_height_mm between 0 and 5000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check (overflow_mm < wall_mm),
    check (floor_fall_mm < wall_mm),
    check (drainable_permille + retained_permille <= 980),
    check ((media = 'none') = (media_depth_mm = 0))
) strict;

create index bench_by_system on bench (system_id);

-- A bucket test of a bench's own media. The newest one overrides the figures on the bench.
create table bucket_test (
    id integer primary key not null,
    bench_id integer not null references bench (id),
    bulk_ml integer not null check (bulk_ml between 500 and 500000),
    -- Water taken up to the top of the dry media, and what then ran out by itself.
    filled_ml integer not null check (filled_ml > 0),
    drained_ml integer not null check (drained_ml > 0),
    tested_on text not null check (tested_on glob '????-??-??'),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check (filled_ml < bulk_ml),
    check (drained_ml <= filled_ml)
) strict;

create index bucket_test_by_bench on bucket_test (bench_id, id);
create trigger bucket_test_is_not_changed before update on bucket_test begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger bucket_test_is_not_deleted before delete on bucket_test begin select raise(abort, 'measurements are added to, never changed'); end;

create table pump (
    id integer primary key not null,
    system_id integer not null references system (id),
    name text not null check (length(name) between 1 and 60),
    kind text not null check (kind in ('submersible', 'inline')),
    max_flow_ml_per_min integer check (max_flow_ml_per_min between 100 and 10000000),
    max_head_mm integer check (max_head_mm between 100 and 100000),
    last_teardown_on text check (last_teardown_on glob '????-??-??'),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0)
) strict;

create index pump_by_system on pump (system_id);

create table tubing_run (
    id integer primary key not null,
    system_id integer not null references system (id),
    name text not null check (length(name) between 1 and 60),
    purpose text not null check (purpose in ('fill', 'drain', 'overflow')),
    bore_um integer not null check (bore_um between 2000 and 300000),
    length_mm integer not null check (length_mm between 10 and 500000),
    rise_mm integer check (rise_mm between 0 and 10000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0)
) strict;

create index tubing_run_by_system on tubing_run (system_id);

-- A measured fill of a system to its clean-out level. The newest one that was not set aside, and that was
-- measured in the loop as it still is, overrides the computed volume; both are kept.
create table measured_fill (
    id integer primary key not null,
    system_id integer not null references system (id),
    -- What the meter, the jug or the clock counted.
    metered_ml integer not null check (metered_ml between 1000 and 200000000),
    -- Dry media takes more water the first time than wet media does.
    media_was text not null check (media_was in ('dry', 'wet')),
    heel_was text not null check (heel_was in ('in', 'emptied')),
    -- The water that was there before: the heel if it was in, and what wet media hold, as known on that day.
    already_ml integer not null check (already_ml between 0 and 200000000),
    how text not null check (how in ('metered', 'jug', 'timed')),
    -- What the register made of the whole system on that day, so that both figures stay.
    computed_ml integer not null check (computed_ml > 0),
    loop_version integer not null check (loop_version > 0),
    measured_on text not null check (measured_on glob '????-??-??'),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    note text not null default ''
) strict;

create index measured_fill_by_system on measured_fill (system_id, id);
create trigger measured_fill_is_not_changed before update on measured_fill begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger measured_fill_is_not_deleted before delete on measured_fill begin select raise(abort, 'measurements are added to, never changed'); end;

-- A fill that turned out wrong stays readable, with why it no longer counts.
create table measured_fill_set_aside (
    fill_id integer primary key not null references measured_fill (id),
    reason text not null check (length(reason) between 1 and 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger measured_fill_set_aside_is_not_changed before update on measured_fill_set_aside begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger measured_fill_set_aside_is_not_deleted before delete on measured_fill_set_aside begin select raise(abort, 'measurements are added to, never changed'); end;

-- The measuring jugs in use for pours: no pour is larger than a jug, and every pour ends on a mark.
create table jug (
    id integer primary key not null,
    site_id integer not null references site (id),
    name text not null check (length(name) between 1 and 60),
    capacity_ml integer not null check (capacity_ml between 100 and 20000),
    mark_ml integer not null check (mark_ml between 1 and 5000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (site_id, name),
    check (mark_ml <= capacity_ml)
) strict;
