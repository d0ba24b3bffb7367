-- A coordinator let go of a step's rule, for one clean-out, with a reason. It counts only while it lies within the
-- bounds that the code keeps, and while this site lets anybody let go of that rule; it is looked at anew whenever the
-- rule is asked: at the booking, at issue and at the step itself.
create table let_go (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    rule text not null check (rule in ('skill run out', 'pumps and plugs', 'second person', 'adult')),
    -- The step it is let go of at. A skill that has run out is let go of for the whole clean-out.
    step_no integer check (step_no between 1 and 99),
    -- For whom: somebody of the crew, or a group where an adult is asked for.
    for_person_id integer not null references person (id),
    why text not null check (length(why) between 10 and 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check ((rule = 'skill run out') = (step_no is null))
) strict;

create index let_go_by_cleanout on let_go (cleanout_id, id);

-- It is asked again.
create table let_go_taken_back (
    let_go_id integer primary key not null references let_go (id),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger let_go_is_not_changed before update on let_go begin select raise(abort, 'what was let go of is added to, never changed'); end;
create trigger let_go_is_not_deleted before delete on let_go begin select raise(abort, 'what was let go of is added to, never changed'); end;
create trigger let_go_taken_back_is_not_changed before update on let_go_taken_back begin select raise(abort, 'what was let go of is added to, never changed'); end;
create trigger let_go_taken_back_is_not_deleted before delete on let_go_taken_back begin select raise(abort, 'what was let go of is added to, never changed'); end;
