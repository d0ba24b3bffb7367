-- Who is where, and when: the usual week of the crew and of the rooms, and the days that are not as usual.

-- The usual week of a person or a group, or of the others who use a room. A new week is a new row; it
-- counts from its day on, and the old one stays.
create table usual_week (
    id integer primary key not null,
    person_id integer references person (id),
    room_id integer references room (id),
    in_force_from text not null check (in_force_from glob '????-??-??'),
    -- Whether hours marked as overtime may be planned with.
    overtime_allowed integer not null default 0 check (overtime_allowed in (0, 1)),
    -- Who wrote it.
    author_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    check ((person_id is null) <> (room_id is null)),
    check (overtime_allowed = 0 or person_id is not null)
) strict;

create index usual_week_by_person on usual_week (person_id, in_force_from, id) where person_id is not null;
create index usual_week_by_room on usual_week (room_id, in_force_from, id) where room_id is not null;
create trigger usual_week_is_not_changed before update on usual_week begin select raise(abort, 'a week is added to, never changed'); end;
create trigger usual_week_is_not_deleted before delete on usual_week begin select raise(abort, 'a week is added to, never changed'); end;

-- Its hours, in minutes after midnight on the site's clocks. Monday is 0. A night is two rows.
create table usual_hours (
    week_id integer not null references usual_week (id),
    weekday integer not null check (weekday between 0 and 6),
    from_min integer not null check (from_min between 0 and 1439),
    to_min integer not null check (to_min between 1 and 1440),
    overtime integer not null default 0 check (overtime in (0, 1)),
    primary key (week_id, weekday, from_min),
    check (to_min > from_min)
) strict;

create trigger usual_hours_are_not_changed before update on usual_hours begin select raise(abort, 'a week is added to, never changed'); end;
create trigger usual_hours_are_not_deleted before delete on usual_hours begin select raise(abort, 'a week is added to, never changed'); end;

-- Days that are not as usual: somebody is away, a room is taken or stands empty, kit is out of order,
-- the site is closed. Both days are part of it; without a last day it goes on until somebody says so.
-- A correction is a new row that points at the one it replaces, and a row is replaced once.
create table unusual_days (
    id integer primary key not null,
    person_id integer references person (id),
    room_id integer references room (id),
    kit_id integer references kit (id),
    site_id integer references site (id),
    what text not null,
    name text not null default '' check (length(name) <= 200),
    from_on text not null check (from_on glob '????-??-??'),
    to_on text check (to_on glob '????-??-??'),
    -- Part of each of these days, in minutes after midnight; null for the whole day.
    from_min integer check (from_min between 0 and 1439),
    to_min integer check (to_min between 1 and 1440),
    -- How many of the kit.
    count integer check (count between 1 and 200),
    -- How it came in: typed, from a calendar file, from a calendar address.
    source text not null default 'typed' check (source in ('typed', 'file', 'address')),
    author_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    corrects integer unique references unusual_days (id),
    -- A correction that says it never was or is no longer so.
    taken_back integer not null default 0 check (taken_back in (0, 1)),
    check ((person_id is not null) + (room_id is not null) + (kit_id is not null) + (site_id is not null) = 1),
    check (case when person_id is not null then what in ('leave', 'ill', 'course', 'elsewhere')
                when room_id is not null then what in ('taken', 'empty')
                when kit_id is not null then what = 'out of order'
                else what in ('closed', 'out of term') end),
    check (to_on is null or to_on >= from_on),
    check ((from_min is null) = (to_min is null)),
    check (to_min is null or to_min > from_min),
    check ((count is not null) = (kit_id is not null)),
    check (taken_back = 0 or corrects is not null)
) strict;

create index unusual_days_by_person on unusual_days (person_id, from_on) where person_id is not null;
create index unusual_days_by_room on unusual_days (room_id, from_on) where room_id is not null;
create index unusual_days_by_kit on unusual_days (kit_id, from_on) where kit_id is not null;
create index unusual_days_by_site on unusual_days (site_id, from_on) where site_id is not null;
create trigger unusual_days_are_not_changed before update on unusual_days begin select raise(abort, 'days are added to, never changed'); end;
create trigger unusual_days_are_not_deleted before delete on unusual_days begin select raise(abort, 'days are added to, never changed'); end;
-- A correction is about the same person, room, kit or site as what it corrects, and what was taken back is
-- not corrected any more.
create trigger unusual_days_correct_their_own before insert on unusual_days
 when new.corrects is not null and not exists (
    select 1 from unusual_days old
     where old.id = new.corrects and old.taken_back = 0 and old.person_id is new.person_id and old.room_id is new.room_id
       and old.kit_id is new.kit_id and old.site_id is new.site_id)
begin select raise(abort, 'a correction is about the same thing'); end;
