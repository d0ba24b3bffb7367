-- What went wrong and stays open until somebody says what was found.

create table trouble (
    id integer primary key not null,
    kind text not null check (kind in ('stock missing', 'stock too much')),
    -- The lot that it is about, and its name as it was then.
    lot_id integer references lot (id),
    subject text not null check (length(subject) between 1 and 200),
    -- What the server saw, and what whoever was there wrote.
    seen text not null check (length(seen) between 1 and 1000),
    reason text not null default '' check (length(reason) <= 2000),
    -- What the rule set said on that day about telling an authority; empty where it says nothing.
    to_tell text not null default '' check (length(to_tell) <= 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger trouble_is_not_changed before update on trouble begin select raise(abort, 'troubles are added to, never changed'); end;
create trigger trouble_is_not_deleted before delete on trouble begin select raise(abort, 'troubles are added to, never changed'); end;

-- Who closed it, and with what.
create table trouble_end (
    trouble_id integer primary key not null references trouble (id),
    found text not null check (length(found) between 1 and 2000),
    -- Whom it was told, where it had to be, or why it had not.
    told text not null default '' check (length(told) <= 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger trouble_end_is_not_changed before update on trouble_end begin select raise(abort, 'troubles are added to, never changed'); end;
create trigger trouble_end_is_not_deleted before delete on trouble_end begin select raise(abort, 'troubles are added to, never changed'); end;

-- What a rule set says about stock that is gone, from a strength on. The authority's own rule wins.
create table loss_rule (
    id integer primary key not null,
    rule_set text not null references rule_set (code),
    from_ww_ppm integer not null check (from_ww_ppm between 0 and 1000000),
    says text not null check (length(says) between 1 and 1000),
    source text not null check (length(source) > 0),
    in_force_from text not null check (in_force_from glob '????-??-??'),
    ended_on text check (ended_on glob '????-??-??')
) strict;

insert into loss_rule (rule_set, from_ww_ppm, says, source, in_force_from) values
    ('eu', 120001, 'Above 12 % w/w it is a restricted explosives precursor. A professional user reports a significant disappearance or a theft to the national contact point within 24 hours of finding it.',
     'Regulation (EU) 2019/1148, Article 9 and Annex I (wording from memory)', '2021-02-01'),
    ('uk', 120001, 'Above 12 % w/w it is a regulated explosives precursor. A business that uses it reports a significant disappearance or a theft within 24 hours of finding it.',
     'Poisons Act 1972 as amended in 2023 (from memory)', '2023-10-01'),
    ('us', 0, 'No federal duty to report a loss from a small store is known here. State and local codes, the permit and the insurer may ask for it; a theft is reported to the police.',
     'from memory; ask the fire authority and the insurer', '2023-07-28');

-- The figures of the site for its stock. The newest row counts.
create table stock_figures (
    id integer primary key not null,
    -- A count may differ by the greater of the two before it opens a trouble.
    differs_ml integer not null check (differs_ml between 0 and 100000000),
    differs_permille integer not null check (differs_permille between 0 and 1000),
    why text not null default '' check (length(why) <= 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger stock_figures_are_not_changed before update on stock_figures begin select raise(abort, 'figures are added to, never changed'); end;
create trigger stock_figures_are_not_deleted before delete on stock_figures begin select raise(abort, 'figures are added to, never changed'); end;
