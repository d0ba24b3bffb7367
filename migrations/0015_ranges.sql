-- How far what is measured may be off: strips by their colours, pens and meters by what their owner knows, jugs
-- and stock by their makers. All of it may stay empty: a usual figure then stands in, and the page says so.

-- What readings are taken with.
create table gauge (
    id integer primary key not null,
    site_id integer not null references site (id),
    name text not null check (length(name) between 1 and 60),
    kind text not null check (kind in ('peroxide strip', 'ph pen', 'ec pen')),
    -- The colours of a strip as printed on its tube: milligrams in a litre, rising, with blanks between.
    colours text check (length(colours) between 5 and 200),
    -- How far a pen may be off either way, in thousandths of its unit. Empty: the usual figure.
    off_milli integer check (off_milli between 1 and 5000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (site_id, name),
    check ((kind = 'peroxide strip') = (colours is not null)),
    check (kind <> 'peroxide strip' or off_milli is null)
) strict;

-- Between what a reading lies, as it was known when it was taken: later changes of a strip do not reach it.
-- Readings of before have none, and the usual figure stands in. An upper end that is missing is not known: the
-- highest colour says 'at least', and a lowest colour of nothing says 'at most' something that is not printed.
alter table reading add column gauge_id integer references gauge (id);
alter table reading add column diluted integer not null default 1 check (diluted between 1 and 1000);
alter table reading add column from_milli integer check (from_milli between 0 and 1000000000000);
alter table reading add column to_milli integer check (to_milli between 0 and 1000000000000);
alter table reading add column range_how text not null default '' check (length(range_how) <= 400);

-- Own tolerances, in thousandths of the figure either way.
alter table jug add column scale_permille integer check (scale_permille between 1 and 300);
alter table measured_fill add column off_permille integer check (off_permille between 1 and 300);
alter table product add column strength_permille integer check (strength_permille between 1 and 500);
alter table lot add column strength_permille integer check (strength_permille between 1 and 500);

-- Counts on with whatever changes how the water runs: pump, tubing, bench, reservoir. What was timed before is
-- another series. Rows of before belong to the first one.
alter table system add column flow_version integer not null default 1 check (flow_version > 0);
alter table flow_test add column flow_version integer not null default 1 check (flow_version > 0);
alter table reading add column flow_version integer not null default 1 check (flow_version > 0);

-- A product is of any agent, and not of peroxide alone: what stands beside it in a store matters. Peroxide is
-- dosed by its strength, the others by the rate of their label or by their available chlorine. The columns are
-- made anew, because a check is not changed in place.
alter table product add column acts text not null default 'hydrogen peroxide' check (acts in (
    'hydrogen peroxide', 'peracetic acid blend', 'hypochlorite', 'chlorine dioxide', 'quaternary ammonium', 'acid',
    'alkaline cleaner', 'ammonia', 'alcohol', 'permanganate', 'detergent',
    'fertiliser or crop protection concentrate'));
alter table product drop column agent;
alter table product rename column acts to agent;
-- What acts, as printed: always for peroxide, and for the others where the label prints it.
alter table product add column acts_value real check (acts_value > 0);
alter table product add column acts_basis text check (acts_basis in ('% w/w', '% w/v', 'vol', 'g/L', 'mg/L'));
update product set acts_value = strength_value, acts_basis = strength_basis;
alter table product drop column strength_value;
alter table product drop column strength_basis;
alter table product rename column acts_value to strength_value;
alter table product rename column acts_basis to strength_basis;
-- The rate of the label, in thousandths of its unit: so much of the product for each litre of water or of mix,
-- or the N of 1:N.
alter table product add column rate_milli integer check (rate_milli between 1 and 10000000);
alter table product add column rate_of text check (rate_of in ('mL in a litre of mix', 'mL to a litre of water', 'g in a litre of mix', '1 to N', '1 in N'));
create trigger product_is_known_by_strength_or_rate before insert on product
 when (new.strength_value is null) <> (new.strength_basis is null) or (new.rate_milli is null) <> (new.rate_of is null)
   or (new.agent = 'hydrogen peroxide' and new.strength_value is null)
begin select raise(abort, 'a product has its strength with a basis, or its rate with what it is of'); end;
create trigger product_stays_known_by_strength_or_rate before update on product
 when (new.strength_value is null) <> (new.strength_basis is null) or (new.rate_milli is null) <> (new.rate_of is null)
   or (new.agent = 'hydrogen peroxide' and new.strength_value is null)
begin select raise(abort, 'a product has its strength with a basis, or its rate with what it is of'); end;
