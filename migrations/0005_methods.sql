-- The written method of a clean-out. A version is never changed: a change is the next version,
-- and a job keeps the version it was made from.

create table method (
    id integer primary key not null,
    code text not null unique check (length(code) between 1 and 20),
    name text not null check (length(name) between 1 and 80),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z')
) strict;

create table method_version (
    id integer primary key not null,
    method_id integer not null references method (id),
    version integer not null check (version > 0),
    agent text not null check (agent in ('hydrogen peroxide')),
    -- The working strength, its basis, and where it comes from: a strength without a source is warned about.
    target_value real not null check (target_value > 0),
    target_basis text not null check (target_basis in ('% w/w', '% w/v', 'vol', 'g/L', 'mg/L')),
    target_source text not null check (target_source in ('label', 'adviser', 'none')),
    target_reference text not null default '',
    -- How long the dose is recirculated with every bit of media under.
    soak_min integer not null check (soak_min between 1 and 2880),
    rinses_at_least integer not null check (rinses_at_least between 1 and 20),
    rinse_from_min integer not null check (rinse_from_min between 1 and 600),
    rinse_to_min integer not null check (rinse_to_min between 1 and 600),
    -- How far water must stand over the top of the media.
    cover_mm integer not null default 10 check (cover_mm between 0 and 200),
    why text not null default '',
    person_id integer references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    unique (method_id, version),
    check (rinse_to_min >= rinse_from_min)
) strict;

create table method_step (
    method_version_id integer not null references method_version (id),
    no integer not null check (no between 1 and 99),
    phase text not null check (phase in ('strip', 'wash', 'dose', 'soak', 'rinse', 'teardown', 'refit', 'check')),
    -- tick: done or not. reading: a measured value. pours: the pours of the dose sheet. timed: begun and ended.
    kind text not null check (kind in ('tick', 'reading', 'pours', 'timed')),
    text text not null check (length(text) between 1 and 300),
    caution text not null default '',
    -- Who may do it.
    least text not null check (least in ('anybody', 'adult', 'concentrate', 'electrics')),
    two_people integer not null default 0 check (two_people in (0, 1)),
    -- What is measured, for a reading.
    reading text check (reading in ('peroxide', 'ph', 'ec', 'temperature', 'litres', 'flood seconds', 'drain seconds')),
    -- The least minutes, for a timed step.
    minutes integer check (minutes between 1 and 2880),
    -- What the step means beyond itself: the riser comes off here, the rinse is counted here.
    marks text not null default '' check (marks in ('', 'riser on', 'riser off', 'soak', 'rinse', 'fresh fill')),
    primary key (method_version_id, no),
    check ((kind = 'reading') = (reading is not null)),
    check ((kind = 'timed') = (minutes is not null))
) strict;

-- A system is released only on readings within these limits. Values are in thousandths of the reading's unit:
-- mg/L of peroxide, pH, mS/cm of EC, degrees Celsius, litres, seconds.
create table method_limit (
    method_version_id integer not null references method_version (id),
    reading text not null check (reading in ('peroxide', 'ph', 'ec', 'temperature')),
    at_least_milli integer,
    at_most_milli integer,
    why text not null default '',
    primary key (method_version_id, reading),
    check (at_least_milli is not null or at_most_milli is not null),
    check (at_least_milli is null or at_most_milli is null or at_least_milli <= at_most_milli)
) strict;

-- The minutes each phase takes, for planning.
create table method_phase (
    method_version_id integer not null references method_version (id),
    phase text not null check (phase in ('strip', 'wash', 'dose', 'soak', 'rinse', 'teardown', 'refit', 'check')),
    minutes integer not null check (minutes between 1 and 2880),
    primary key (method_version_id, phase)
) strict;

create trigger method_version_is_not_changed before update on method_version begin select raise(abort, 'a method version is never changed'); end;
create trigger method_version_is_not_deleted before delete on method_version begin select raise(abort, 'a method version is never changed'); end;
create trigger method_step_is_not_changed before update on method_step begin select raise(abort, 'a method version is never changed'); end;
create trigger method_step_is_not_deleted before delete on method_step begin select raise(abort, 'a method version is never changed'); end;
create trigger method_limit_is_not_changed before update on method_limit begin select raise(abort, 'a method version is never changed'); end;
create trigger method_limit_is_not_deleted before delete on method_limit begin select raise(abort, 'a method version is never changed'); end;
create trigger method_phase_is_not_changed before update on method_phase begin select raise(abort, 'a method version is never changed'); end;
create trigger method_phase_is_not_deleted before delete on method_phase begin select raise(abort, 'a method version is never changed'); end;
