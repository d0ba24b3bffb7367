-- What the set-up checks need beyond the measures that hold water. All of it may stay empty: a usual
-- figure then stands in where there is one, and the check says so.

-- The standpipe of a bench: its inside bore, how many alike stand in the bench, and the part of its
-- capacity that an overflow keeps behind a strainer or with roots about.
alter table bench add column overflow_bore_um integer check (overflow_bore_um between 5000 and 300000);
alter table bench add column overflow_count integer check (overflow_count between 1 and 20);
alter table bench add column overflow_keeps_permille integer check (overflow_keeps_permille between 100 and 1000);
-- The port in the floor that the bench drains through.
alter table bench add column drain_bore_um integer check (drain_bore_um between 2000 and 300000);

-- A point of the pump's curve between its most flow and its most head: both figures or neither.
alter table pump add column point_flow_ml_per_min integer check (point_flow_ml_per_min between 100 and 10000000);
alter table pump add column point_head_mm integer check (point_head_mm between 10 and 100000);
-- The lift as measured, benches flooded: from the water in the reservoir to the flood level or the outlet.
alter table pump add column lift_mm integer check (lift_mm between 0 and 100000);

-- The sum of the loss coefficients K of a run's fittings, in thousandths, without the exit; and its wall inside.
alter table tubing_run add column fittings_milli integer check (fittings_milli between 0 and 300000);
alter table tubing_run add column tube_wall text check (tube_wall in ('smooth', 'ribbed'));

-- A flow, a flooding or a draining that was timed outside a clean-out.
create table flow_test (
    id integer primary key not null,
    system_id integer not null references system (id),
    kind text not null check (kind in ('flow', 'flood', 'drain')),
    -- What ran into the bucket, for a flow.
    caught_ml integer check (caught_ml between 100 and 1000000),
    took_ms integer not null check (took_ms between 1000 and 36000000),
    water_tenths_celsius integer check (water_tenths_celsius between 0 and 400),
    -- From the water in the reservoir to the outlet, for a flow.
    lift_mm integer check (lift_mm between 0 and 100000),
    tested_on text not null check (tested_on glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    note text not null default '',
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check ((kind = 'flow') = (caught_ml is not null)),
    check (kind = 'flow' or lift_mm is null)
) strict;

create index flow_test_by_system on flow_test (system_id, id);
create trigger flow_test_is_not_changed before update on flow_test begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger flow_test_is_not_deleted before delete on flow_test begin select raise(abort, 'measurements are added to, never changed'); end;

-- A test that turned out wrong stays readable, with why it no longer counts.
create table flow_test_set_aside (
    test_id integer primary key not null references flow_test (id),
    reason text not null check (length(reason) between 1 and 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger flow_test_set_aside_is_not_changed before update on flow_test_set_aside begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger flow_test_set_aside_is_not_deleted before delete on flow_test_set_aside begin select raise(abort, 'measurements are added to, never changed'); end;
