-- Whether there is enough, what it costs, what is mixed from it, and what shows a skill.

-- How a product is ordered. The newest row of a product counts.
create table product_ordering (
    id integer primary key not null,
    product_id integer not null references product (id),
    -- From the order to the delivery, in days of the calendar.
    lead_days integer not null check (lead_days between 0 and 365),
    -- For how long what came is relied on before its strength is measured again.
    keeping_days integer check (keeping_days between 1 and 3650),
    -- What one container holds as it is sold, in millilitres, with '; ' between two of them.
    sizes_ml text not null default '' check (length(sizes_ml) <= 60),
    -- What is never to be undercut, where the site has a figure of its own.
    least_ml integer check (least_ml between 0 and 100000000),
    why text not null default '' check (length(why) <= 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index product_ordering_by_product on product_ordering (product_id, id);
create trigger product_ordering_is_not_changed before update on product_ordering begin select raise(abort, 'how it is ordered is added to, never changed'); end;
create trigger product_ordering_is_not_deleted before delete on product_ordering begin select raise(abort, 'how it is ordered is added to, never changed'); end;

-- What things and time cost here. The newest row counts; an empty figure is not known, and then nothing is
-- reckoned with it. Amounts are hundredths of the money that the code names (ISO 4217).
create table site_prices (
    id integer primary key not null,
    currency text not null check (currency glob '[A-Z][A-Z][A-Z]'),
    hour_hundredths integer check (hour_hundredths between 0 and 100000000),
    strip_hundredths integer check (strip_hundredths between 0 and 100000000),
    -- Of 1000 L of purified water.
    water_hundredths integer check (water_hundredths between 0 and 100000000),
    -- What one bench that stands empty for a week costs the site.
    bench_week_hundredths integer check (bench_week_hundredths between 0 and 100000000),
    why text not null default '' check (length(why) <= 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger site_prices_are_not_changed before update on site_prices begin select raise(abort, 'prices are added to, never changed'); end;
create trigger site_prices_are_not_deleted before delete on site_prices begin select raise(abort, 'prices are added to, never changed'); end;

-- A lot that was mixed here from another lot and water. Its strength is this one, not that of the product's
-- label; its entries in the ledger are those of a part that was taken into another container.
create table made_solution (
    lot_id integer primary key not null references lot (id),
    from_lot_id integer not null references lot (id),
    -- As it was asked for, with its basis, and by mass.
    strength_value real not null check (strength_value > 0),
    strength_basis text not null check (strength_basis in ('% w/w', '% w/v', 'vol', 'g/L', 'mg/L')),
    ww_ppm integer not null check (ww_ppm between 1 and 500000),
    -- What the concentrate was reckoned as.
    from_ww_ppm integer not null check (from_ww_ppm between 1 and 500000),
    concentrate_ml integer not null check (concentrate_ml > 0),
    water_ml integer not null check (water_ml > 0),
    water text not null check (water in ('reverse osmosis', 'distilled', 'deionised')),
    use_by text not null check (use_by glob '????-??-??'),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check (ww_ppm < from_ww_ppm and lot_id <> from_lot_id)
) strict;

create trigger made_solution_is_not_changed before update on made_solution begin select raise(abort, 'what was mixed is added to, never changed'); end;
create trigger made_solution_is_not_deleted before delete on made_solution begin select raise(abort, 'what was mixed is added to, never changed'); end;

-- The training that shows a skill.
create table skill_training (
    skill_id integer primary key not null references skill (id),
    training_id integer not null references training (id)
) strict;

create trigger skill_training_is_not_changed before update on skill_training begin select raise(abort, 'what shows a skill is added, never changed'); end;
create trigger skill_training_is_not_deleted before delete on skill_training begin select raise(abort, 'what shows a skill is added, never changed'); end;
create trigger skill_training_is_of_one_person before insert on skill_training
 when (select person_id from skill where id = new.skill_id) is not (select person_id from training where id = new.training_id)
begin select raise(abort, 'a skill is shown by a training of the same person'); end;
