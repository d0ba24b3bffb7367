-- Who may let go of which rule of a step at this site: a coordinator, or nobody. Never more than that; the newest
-- row of a rule counts, and a coordinator where there is none.
create table rule_choice (
    id integer primary key not null,
    rule text not null check (rule in ('skill run out', 'pumps and plugs', 'second person', 'adult')),
    who text not null check (who in ('coordinator', 'nobody')),
    why text not null check (length(why) between 1 and 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger rule_choice_is_not_changed before update on rule_choice begin select raise(abort, 'a choice is added, never changed'); end;
create trigger rule_choice_is_not_deleted before delete on rule_choice begin select raise(abort, 'a choice is added, never changed'); end;
