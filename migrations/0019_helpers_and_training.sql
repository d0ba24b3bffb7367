-- A group that helped at a step: by its name and head count, as it was then. No pupil's name is kept.
create table step_helper (
    step_entry_id integer primary key not null references step_entry (id),
    group_id integer not null references person (id),
    head_count integer not null check (head_count between 1 and 200)
) strict;

create trigger step_helper_is_not_changed before update on step_helper begin select raise(abort, 'the run is added to, never changed'); end;
create trigger step_helper_is_not_deleted before delete on step_helper begin select raise(abort, 'the run is added to, never changed'); end;

-- What somebody was taught, when and by whom. A skill can point at it by its words; an entry that was
-- wrong is withdrawn with a reason and stays readable.
create table training (
    id integer primary key not null,
    person_id integer not null references person (id),
    held_on text not null check (held_on glob '????-??-??'),
    topics text not null check (length(topics) between 1 and 2000),
    trainer text not null check (length(trainer) between 1 and 60),
    -- Where the signed sheet or the certificate lies.
    evidence text not null check (length(evidence) between 1 and 2000),
    entered_by integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index training_by_person on training (person_id, id);

create table training_withdrawn (
    training_id integer primary key not null references training (id),
    reason text not null check (length(reason) between 1 and 2000),
    withdrawn_by integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger training_is_not_changed before update on training begin select raise(abort, 'training is added to, never changed'); end;
create trigger training_is_not_deleted before delete on training begin select raise(abort, 'training is added to, never changed'); end;
create trigger training_withdrawn_is_not_changed before update on training_withdrawn begin select raise(abort, 'training is added to, never changed'); end;
create trigger training_withdrawn_is_not_deleted before delete on training_withdrawn begin select raise(abort, 'training is added to, never changed'); end;
