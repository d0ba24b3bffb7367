-- The plan of clean-outs: drafts, and what was posted. A plan is kept as it was; the next one is a new row.

create table plan (
    id integer primary key not null,
    site_id integer not null references site (id),
    -- A draft is a proposal that somebody asked for; a posting booked what stands in it.
    standing text not null check (standing in ('draft', 'posted')),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

-- One part of one clean-out and one of its people; two people are two rows with the same times. Nobody is
-- needed while it soaks.
create table plan_line (
    plan_id integer not null references plan (id),
    no integer not null check (no between 1 and 100000),
    system_id integer not null references system (id),
    planting_id integer references planting (id),
    -- Null in a draft whose clean-out was not proposed yet.
    cleanout_id integer references cleanout (id),
    work text not null check (work in ('strip and wash', 'dose', 'soak', 'rinse', 'teardown', 'refit and check')),
    from_at text not null check (from_at glob '????-??-??T??:??:??Z'),
    to_at text not null check (to_at glob '????-??-??T??:??:??Z'),
    person_id integer references person (id),
    -- It stood where it was when the plan was made: booked by hand, its card out, or under way.
    stood integer not null default 0 check (stood in (0, 1)),
    primary key (plan_id, no),
    check (to_at > from_at),
    check ((work = 'soak') = (person_id is null))
) strict;

create index plan_line_by_cleanout on plan_line (cleanout_id);

-- Somebody holds a clean-out to these beginnings, for the gap after this planting. The newest row of a
-- system counts; one without times takes the pin off.
create table plan_pin (
    id integer primary key not null,
    system_id integer not null references system (id),
    planting_id integer references planting (id),
    strip_at text check (strip_at glob '????-??-??T??:??:??Z'),
    dose_at text check (dose_at glob '????-??-??T??:??:??Z'),
    rinse_at text check (rinse_at glob '????-??-??T??:??:??Z'),
    teardown_at text check (teardown_at glob '????-??-??T??:??:??Z'),
    refit_at text check (refit_at glob '????-??-??T??:??:??Z'),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check ((strip_at is null) = (dose_at is null)),
    check ((strip_at is null) = (rinse_at is null)),
    check ((strip_at is null) = (teardown_at is null)),
    check ((strip_at is null) = (refit_at is null)),
    check (strip_at is null or (strip_at < dose_at and dose_at < rinse_at and rinse_at < teardown_at and teardown_at < refit_at))
) strict;

create index plan_pin_by_system on plan_pin (system_id, id);

create trigger plan_is_not_changed before update on plan begin select raise(abort, 'a plan is never changed'); end;
create trigger plan_is_not_deleted before delete on plan begin select raise(abort, 'a plan is never changed'); end;
create trigger plan_line_is_not_changed before update on plan_line begin select raise(abort, 'a plan is never changed'); end;
create trigger plan_line_is_not_deleted before delete on plan_line begin select raise(abort, 'a plan is never changed'); end;
create trigger plan_pin_is_not_changed before update on plan_pin begin select raise(abort, 'pins are added to, never changed'); end;
create trigger plan_pin_is_not_deleted before delete on plan_pin begin select raise(abort, 'pins are added to, never changed'); end;
