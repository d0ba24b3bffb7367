-- What else was put into the water of a system, and what rinsed it out again. The newest entries since the
-- last full rinse are what may still be there; a released clean-out is a full rinse too. An entry that was
-- wrong is taken back by another one that points at it, and both stay readable.
create table water_entry (
    id integer primary key not null,
    system_id integer not null references system (id),
    what text not null check (what in ('put in', 'rinsed out', 'taken back')),
    agent text check (agent in (
        'hydrogen peroxide', 'peracetic acid blend', 'hypochlorite', 'chlorine dioxide', 'quaternary ammonium', 'acid',
        'alkaline cleaner', 'ammonia', 'alcohol', 'permanganate', 'detergent',
        'fertiliser or crop protection concentrate')),
    -- The product as its label names it, for what was put in.
    product text not null default '' check (length(product) <= 80),
    -- Full fills of fresh water that were run round and drained, for what was rinsed out.
    rinses integer check (rinses between 1 and 20),
    -- How it was checked and what it showed, or why an entry is taken back.
    note text not null default '' check (length(note) <= 2000),
    takes_back integer unique references water_entry (id),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check ((what = 'put in') = (agent is not null)),
    check ((what = 'put in') = (product <> '')),
    check ((what = 'rinsed out') = (rinses is not null)),
    check ((what = 'taken back') = (takes_back is not null)),
    check (what = 'put in' or note <> '')
) strict;

create index water_entry_by_system on water_entry (system_id, id);
create trigger water_entry_is_not_changed before update on water_entry begin select raise(abort, 'what went into the water is added to, never changed'); end;
create trigger water_entry_is_not_deleted before delete on water_entry begin select raise(abort, 'what went into the water is added to, never changed'); end;

-- The agent that a step of a method puts into the water, beside the peroxide of the pours.
alter table method_step add column agent text check (agent in (
    'peracetic acid blend', 'hypochlorite', 'chlorine dioxide', 'quaternary ammonium', 'acid', 'alkaline cleaner',
    'ammonia', 'alcohol', 'permanganate', 'detergent', 'fertiliser or crop protection concentrate'));

-- The class by strength for keeping it, with the most that one part of a building may hold before more is asked
-- of it: kept closed, in use in closed vessels, in use in open ones. Bands are inclusive below and exclusive
-- above. A changed band is a new row; the old one keeps its dates.
create table storage_band (
    id integer primary key not null,
    rule_set text not null references rule_set (code),
    from_ww_ppm integer not null check (from_ww_ppm between 0 and 1000000),
    below_ww_ppm integer not null check (below_ww_ppm between 1 and 1000001),
    class text not null check (length(class) between 1 and 120),
    kept_g integer check (kept_g > 0),
    closed_use_g integer check (closed_use_g > 0),
    open_use_g integer check (open_use_g > 0),
    source text not null check (length(source) > 0),
    in_force_from text not null check (in_force_from glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    ended_on text check (ended_on glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    check (below_ww_ppm > from_ww_ppm)
) strict;

create index storage_band_by_rule_set on storage_band (rule_set, from_ww_ppm);

-- Transport and fire texts say 'above 27.5' and 'above 52', so a band begins one millionth over them.
insert into storage_band (rule_set, from_ww_ppm, below_ww_ppm, class, kept_g, closed_use_g, open_use_g, source, in_force_from) values
    ('us',      0,  80000, 'none by strength', null, null, null, 'NFPA list of oxidisers as reproduced in a government appendix (Appendix B): begins at 8 %', '2015-01-01'),
    ('us',  80000, 275001, 'oxidiser, class 1', 1814400, 1814400, 453600, 'class by the same list; quantities for one control area by RA 9514 RIRR 2019, Table 12, equal to IFC Table 5003.1.1(1) (from memory)', '2015-01-01'),
    ('us', 275001, 520001, 'oxidiser, class 2', 113400, 113400, 22700, 'class by Minnesota State Fire Code 2015, Appendix E; quantities for one control area by RA 9514 RIRR 2019, Table 12, equal to IFC Table 5003.1.1(1) (from memory)', '2015-01-01'),
    ('us', 520001, 600000, 'oxidiser, class 3', 4500, 900, 900, 'class by Minnesota State Fire Code 2015, Appendix E; quantities for one control area by RA 9514 RIRR 2019, Table 12, equal to IFC Table 5003.1.1(1) (from memory)', '2015-01-01');

insert into storage_band (rule_set, from_ww_ppm, below_ww_ppm, class, source, in_force_from)
select r.code, b.from_ppm, b.below_ppm, b.class, b.source, '2020-01-01'
  from (select 'eu' as code union all select 'uk') r
 cross join (
    select      0 as from_ppm,  80000 as below_ppm, 'none by strength' as class,
           'oxidiser band by transport practice: begins at 8 %' as source
    union all select  80000, 600000, 'oxidising liquid',
           'no quantity for a small store was found in a published source: ask the fire authority and the insurer, and enter theirs'
 ) b;

-- Where two published sources differ, the safer one is used until the site chooses. A choice is a row; the
-- newest one of a question counts.
create table source_choice (
    id integer primary key not null,
    question text not null check (length(question) between 1 and 40),
    choice text not null check (length(choice) between 1 and 40),
    why text not null check (length(why) between 1 and 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index source_choice_by_question on source_choice (question, id);
create trigger source_choice_is_not_changed before update on source_choice begin select raise(abort, 'choices are added to, never changed'); end;
create trigger source_choice_is_not_deleted before delete on source_choice begin select raise(abort, 'choices are added to, never changed'); end;
