-- Somebody booked a clean-out although something stood against it: others in the room while it is dosed,
-- somebody who is away, at another job or outside their hours. It counts for exactly the booking that it was
-- said of; a later booking, or anything new that stands against it, is asked about again.
create table booked_all_the_same (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    starts_on text not null check (starts_on glob '????-??-??'),
    starts_min integer not null check (starts_min between 0 and 1439),
    person_id integer not null references person (id),
    pours_person_id integer references person (id),
    -- The sentences that were shown, as a JSON list.
    against text not null check (json_valid(against) and json_type(against) = 'array'),
    why text not null check (length(why) between 1 and 2000),
    decided_by integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index booked_all_the_same_by_cleanout on booked_all_the_same (cleanout_id, id);

create trigger booked_all_the_same_is_not_changed before update on booked_all_the_same begin select raise(abort, 'a decision is added, never changed'); end;
create trigger booked_all_the_same_is_not_deleted before delete on booked_all_the_same begin select raise(abort, 'a decision is added, never changed'); end;
