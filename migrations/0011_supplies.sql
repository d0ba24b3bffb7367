-- What a clean-out draws on beside people and rooms: water, kit, and concentrate that is still to come.

-- Where water comes from. A membrane fills a tank slowly; mains water comes as fast as it is drawn.
create table water_supply (
    id integer primary key not null,
    site_id integer not null references site (id),
    name text not null check (length(name) between 1 and 60),
    source text not null check (source in ('purified', 'rainwater', 'mains')),
    -- Good enough for rinses, though not for the dose and the fresh fill.
    rinses_only integer not null default 0 check (rinses_only in (0, 1)),
    -- What the tank holds, and what is never drawn from it: the pump would run dry, or plants need it.
    -- Null where the water comes straight from the line.
    tank_ml integer check (tank_ml between 1000 and 1000000000),
    tank_least_ml integer check (tank_least_ml between 0 and 1000000000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (site_id, name),
    check ((tank_ml is null) = (tank_least_ml is null)),
    check (tank_least_ml < tank_ml)
) strict;

-- What a supply gives, by bucket and clock. The newest counts. A membrane gives less from cold water,
-- so the temperature stands beside it.
create table water_test (
    id integer primary key not null,
    supply_id integer not null references water_supply (id),
    measured_on text not null check (measured_on glob '????-??-??'),
    caught_ml integer not null check (caught_ml between 10 and 100000000),
    seconds integer not null check (seconds between 1 and 86400),
    water_tenths_c integer check (water_tenths_c between 0 and 400),
    note text not null default '',
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index water_test_by_supply on water_test (supply_id, id);
create trigger water_test_is_not_changed before update on water_test begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger water_test_is_not_deleted before delete on water_test begin select raise(abort, 'measurements are added to, never changed'); end;

-- How much stood in the tank, as somebody saw it.
create table tank_level (
    id integer primary key not null,
    supply_id integer not null references water_supply (id),
    level_ml integer not null check (level_ml between 0 and 1000000000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index tank_level_by_supply on tank_level (supply_id, id);
create trigger tank_level_is_not_changed before update on tank_level begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger tank_level_is_not_deleted before delete on tank_level begin select raise(abort, 'measurements are added to, never changed'); end;

-- Kit that goes from clean-out to clean-out: how many of a kind there are. What is out of order for a
-- while stands among the days that are not as usual.
create table kit (
    id integer primary key not null,
    site_id integer not null references site (id),
    name text not null check (length(name) between 1 and 60),
    kind text not null check (kind in ('portable pump', 'riser set', 'other')),
    count integer not null check (count between 1 and 200),
    note text not null default '',
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (site_id, name)
) strict;

-- How many of a kind a method holds, from the beginning of one phase to the end of another. A change is
-- a new row, and the newest counts; none needed any more is a row with a count of 0.
create table kit_need (
    id integer primary key not null,
    method_id integer not null references method (id),
    kit_id integer not null references kit (id),
    count integer not null check (count between 0 and 200),
    from_phase text not null check (from_phase in ('strip', 'wash', 'dose', 'soak', 'rinse', 'teardown', 'refit', 'check')),
    to_phase text not null check (to_phase in ('strip', 'wash', 'dose', 'soak', 'rinse', 'teardown', 'refit', 'check')),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index kit_need_by_method on kit_need (method_id, kit_id, id);
create trigger kit_need_is_not_changed before update on kit_need begin select raise(abort, 'needs are added to, never changed'); end;
create trigger kit_need_is_not_deleted before delete on kit_need begin select raise(abort, 'needs are added to, never changed'); end;

-- Concentrate that is ordered and has not come.
create table delivery (
    id integer primary key not null,
    product_id integer not null references product (id),
    amount_ml integer not null check (amount_ml between 1 and 100000000),
    -- The order number, the supplier, as the coordinator writes it.
    note text not null default '',
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger delivery_is_not_changed before update on delivery begin select raise(abort, 'deliveries are added to, never changed'); end;
create trigger delivery_is_not_deleted before delete on delivery begin select raise(abort, 'deliveries are added to, never changed'); end;

-- What became of it: the day it is expected, each moved day a row of its own; the lot it came as; or that
-- it does not come. The newest row counts, and after one that ends it nothing follows.
create table delivery_event (
    id integer primary key not null,
    delivery_id integer not null references delivery (id),
    what text not null check (what in ('expected', 'received', 'called off')),
    expected_on text check (expected_on glob '????-??-??'),
    lot_id integer references lot (id),
    reason text not null default '',
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check ((what = 'expected') = (expected_on is not null)),
    check ((what = 'received') = (lot_id is not null))
) strict;

create index delivery_event_by_delivery on delivery_event (delivery_id, id);
create trigger delivery_event_is_not_changed before update on delivery_event begin select raise(abort, 'deliveries are added to, never changed'); end;
create trigger delivery_event_is_not_deleted before delete on delivery_event begin select raise(abort, 'deliveries are added to, never changed'); end;
create trigger delivery_that_ended_goes_on_no_more before insert on delivery_event
 when exists (select 1 from delivery_event where delivery_id = new.delivery_id and what in ('received', 'called off'))
begin select raise(abort, 'a delivery that came or was called off does not change any more'); end;
