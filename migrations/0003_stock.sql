-- The stock of concentrate: products, lots, and entries that are only ever added.

create table product (
    id integer primary key not null,
    name text not null unique check (length(name) between 1 and 80),
    agent text not null check (agent in ('hydrogen peroxide')),
    -- The strength as printed on the label, with its basis. A strength without a basis is not one.
    strength_value real not null check (strength_value > 0),
    strength_basis text not null check (strength_basis in ('% w/w', '% w/v', 'vol', 'g/L', 'mg/L')),
    -- Registration or label reference, as printed.
    label_reference text not null default '',
    -- What the label says on use, in the grower's words; it wins over anything computed here.
    label_says text not null default '',
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0)
) strict;

create table lot (
    id integer primary key not null,
    product_id integer not null references product (id),
    code text not null check (length(code) between 1 and 40),
    received_on text not null check (received_on glob '????-??-??'),
    opened_on text check (opened_on glob '????-??-??'),
    retest_on text check (retest_on glob '????-??-??'),
    kept_in text not null default '',
    -- The yearly loss of strength assumed until the lot is assayed, in thousandths of what is left.
    loss_permille_per_year integer not null default 20 check (loss_permille_per_year between 0 and 500),
    withdrawn_at text check (withdrawn_at glob '????-??-??T??:??:??Z'),
    withdrawn_reason text,
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (product_id, code),
    check ((withdrawn_at is null) = (withdrawn_reason is null))
) strict;

-- A titration. The newest one overrides the label.
create table assay (
    id integer primary key not null,
    lot_id integer not null references lot (id),
    ww_ppm integer not null check (ww_ppm between 1 and 500000),
    method text not null check (method in ('permanganate', 'iodometric', 'supplier certificate', 'other')),
    assayed_on text not null check (assayed_on glob '????-??-??'),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    note text not null default ''
) strict;

create index assay_by_lot on assay (lot_id, id);
create trigger assay_is_not_changed before update on assay begin select raise(abort, 'measurements are added to, never changed'); end;
create trigger assay_is_not_deleted before delete on assay begin select raise(abort, 'measurements are added to, never changed'); end;

-- The balance of a lot is the sum of its entries. A count adds the difference it found, a correction the
-- difference to what its entry should have said.
create table stock_entry (
    id integer primary key not null,
    lot_id integer not null references lot (id),
    kind text not null check (kind in ('received', 'drawn', 'counted', 'spilled', 'disposed', 'returned')),
    change_ml integer not null check (change_ml between -100000000 and 100000000),
    counted_ml integer check (counted_ml >= 0),
    -- The clean-out it was drawn for.
    cleanout_id integer references cleanout (id),
    reason text not null default '',
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    corrects integer references stock_entry (id),
    check ((kind = 'counted') = (counted_ml is not null)),
    check (kind not in ('received', 'returned') or change_ml > 0 or corrects is not null),
    check (kind not in ('drawn', 'spilled', 'disposed') or change_ml < 0 or corrects is not null)
) strict;

-- Nobody can take what is not there, whoever asks.
create trigger stock_entry_leaves_nothing_owed before insert on stock_entry
 when new.change_ml + (select coalesce(sum(change_ml), 0) from stock_entry where lot_id = new.lot_id) < 0
begin select raise(abort, 'a lot cannot hold less than nothing'); end;

create index stock_entry_by_lot on stock_entry (lot_id, id);
create index stock_entry_by_cleanout on stock_entry (cleanout_id) where cleanout_id is not null;
create trigger stock_entry_is_not_changed before update on stock_entry begin select raise(abort, 'stock entries are added to, never changed'); end;
create trigger stock_entry_is_not_deleted before delete on stock_entry begin select raise(abort, 'stock entries are added to, never changed'); end;
