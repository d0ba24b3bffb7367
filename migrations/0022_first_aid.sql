-- Whom this site calls and where its eyewash is, as the first aid page shows them. What changed is a new
-- row; the newest one counts. An empty text is not known at this site.
create table first_aid_note (
    id integer primary key not null,
    ambulance text not null default '' check (length(ambulance) <= 120),
    poison_centre text not null default '' check (length(poison_centre) <= 120),
    eyewash text not null default '' check (length(eyewash) <= 200),
    first_aid_box text not null default '' check (length(first_aid_box) <= 200),
    way_here text not null default '' check (length(way_here) <= 400),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger first_aid_note_is_not_changed before update on first_aid_note begin select raise(abort, 'what was shown is not changed, a new note is added'); end;
create trigger first_aid_note_is_not_deleted before delete on first_aid_note begin select raise(abort, 'what was shown is not changed, a new note is added'); end;
