-- Where stock is kept, what it is kept in, and what its papers say.

-- A store is a place with a door or a tray of its own: a cabinet, a cage, a shelf.
create table store (
    id integer primary key not null,
    site_id integer not null references site (id),
    room_id integer references room (id),
    name text not null check (length(name) between 1 and 60),
    kind text not null check (kind in ('cabinet', 'cage', 'shelf', 'shed', 'fridge')),
    -- The kinds of agents that may stand in it, with '; ' between them. Empty: any that goes with the others.
    may_hold text not null default '' check (length(may_hold) <= 600),
    -- The most that its maker, its tray or the insurer lets stand in it, whatever it is.
    most_ml integer check (most_ml between 1 and 1000000000),
    -- How warm it usually is at the warmest time of the year: stock ages by it.
    usual_tenths_c integer check (usual_tenths_c between -200 and 500),
    note text not null default '' check (length(note) <= 2000),
    retired_at text check (retired_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    unique (site_id, name)
) strict;

alter table lot add column store_id integer references store (id);
-- What one can or bottle of it holds.
alter table lot add column container_ml integer check (container_ml between 1 and 10000000);
-- What a litre of it cost, in hundredths of the money of the site.
alter table lot add column litre_cost_hundredths integer check (litre_cost_hundredths between 0 and 100000000);
-- The lot that it was parted from, when some of one lot went to another store or into another container.
alter table lot add column part_of integer references lot (id);

alter table product add column synonyms text not null default '' check (length(synonyms) <= 200);
-- As the label or the safety data sheet prints it, at 20 °C.
alter table product add column density_g_per_l integer check (density_g_per_l between 500 and 2500);

-- The supplier's safety data sheet as a file. The newest counts; older ones stay readable.
create table safety_sheet (
    id integer primary key not null,
    product_id integer not null references product (id),
    -- The day that the sheet itself says it was revised on.
    revised_on text not null check (revised_on glob '????-??-??'),
    pdf blob not null check (length(pdf) between 64 and 4194304),
    sha256 text not null check (length(sha256) = 64),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index safety_sheet_by_product on safety_sheet (product_id, id);
create trigger safety_sheet_is_not_changed before update on safety_sheet begin select raise(abort, 'sheets are added to, never changed'); end;
create trigger safety_sheet_is_not_deleted before delete on safety_sheet begin select raise(abort, 'sheets are added to, never changed'); end;

-- The ledger learns to move stock and to part it. A check cannot be changed, so the table is made anew with
-- every row as it was; the rows that point at it find theirs again before the step ends.
pragma defer_foreign_keys = on;
create table stock_entry_kept (
    id integer, lot_id integer, kind text, change_ml integer, counted_ml integer, cleanout_id integer, reason text,
    person_id integer, at text, corrects integer
);
insert into stock_entry_kept
select id, lot_id, kind, change_ml, counted_ml, cleanout_id, reason, person_id, at, corrects from stock_entry;
drop table stock_entry;

create table stock_entry (
    id integer primary key not null,
    lot_id integer not null references lot (id),
    kind text not null check (kind in (
        'received', 'drawn', 'counted', 'spilled', 'disposed', 'returned', 'moved', 'decanted')),
    change_ml integer not null check (change_ml between -100000000 and 100000000),
    counted_ml integer check (counted_ml >= 0),
    -- The clean-out it was drawn for.
    cleanout_id integer references cleanout (id),
    reason text not null default '',
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    corrects integer references stock_entry (id),
    -- For what was moved: the store it stood in and the one it stands in now, where they are known. A whole
    -- lot that moves changes by nothing; a part that goes on as a lot of its own changes both.
    from_store_id integer references store (id),
    to_store_id integer references store (id),
    other_lot_id integer references lot (id),
    check ((kind = 'counted') = (counted_ml is not null)),
    check (kind not in ('received', 'returned') or change_ml > 0 or corrects is not null),
    check (kind not in ('drawn', 'spilled', 'disposed') or change_ml < 0 or corrects is not null),
    check (kind in ('moved', 'decanted') or (from_store_id is null and to_store_id is null and other_lot_id is null)),
    check (kind <> 'decanted' or other_lot_id is not null),
    check (kind <> 'moved' or (other_lot_id is null) = (change_ml = 0)),
    check (kind not in ('moved', 'decanted') or corrects is null)
) strict;

insert into stock_entry (id, lot_id, kind, change_ml, counted_ml, cleanout_id, reason, person_id, at, corrects)
select id, lot_id, kind, change_ml, counted_ml, cleanout_id, reason, person_id, at, corrects from stock_entry_kept order by id;
drop table stock_entry_kept;

-- Nobody can take what is not there, whoever asks.
create trigger stock_entry_leaves_nothing_owed before insert on stock_entry
 when new.change_ml + (select coalesce(sum(change_ml), 0) from stock_entry where lot_id = new.lot_id) < 0
begin select raise(abort, 'a lot cannot hold less than nothing'); end;

create index stock_entry_by_lot on stock_entry (lot_id, id);
create index stock_entry_by_cleanout on stock_entry (cleanout_id) where cleanout_id is not null;
create trigger stock_entry_is_not_changed before update on stock_entry begin select raise(abort, 'stock entries are added to, never changed'); end;
create trigger stock_entry_is_not_deleted before delete on stock_entry begin select raise(abort, 'stock entries are added to, never changed'); end;
