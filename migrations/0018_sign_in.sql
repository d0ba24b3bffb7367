-- Who is signed in where, and the other ways of saying who one is.

-- A session gets a number by which it can be listed and ended, and what it was begun on. People stay
-- signed in over this step.
create table session_now (
    id integer primary key autoincrement not null,
    -- Only the hash of the token is kept: whoever reads the file cannot sign in with it.
    token_hash text not null unique,
    person_id integer not null references person (id),
    device text not null check (device in ('phone', 'tablet', 'computer', 'program')),
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    -- Written down every few minutes, not at each page.
    seen_at text not null check (seen_at glob '????-??-??T??:??:??Z'),
    expires_at text not null check (expires_at glob '????-??-??T??:??:??Z')
) strict;

insert into session_now (token_hash, person_id, device, created_at, seen_at, expires_at)
select token_hash, person_id, 'computer', created_at, seen_at, expires_at from session;

drop table session;
alter table session_now rename to session;
create index session_by_person on session (person_id);

-- A browser that belongs to a place and not to a person. By itself it reads; a step is signed on it
-- with a name and a PIN.
create table tablet (
    id integer primary key not null,
    name text not null check (length(name) between 1 and 60),
    token_hash text not null unique,
    made_by integer not null references person (id),
    made_at text not null check (made_at glob '????-??-??T??:??:??Z'),
    seen_at text not null check (seen_at glob '????-??-??T??:??:??Z'),
    ended_at text check (ended_at glob '????-??-??T??:??:??Z')
) strict;

create unique index tablet_name on tablet (name) where ended_at is null;

-- Digits with which somebody signs on a shared tablet. Wrong tries are counted here and not in memory,
-- so that starting the server anew gives nobody more of them.
create table pin (
    person_id integer primary key not null references person (id),
    hash text not null,
    set_at text not null check (set_at glob '????-??-??T??:??:??Z'),
    -- Wrong tries in a row, and the last of them.
    failures integer not null default 0 check (failures >= 0),
    failed_at text check (failed_at glob '????-??-??T??:??:??Z'),
    check ((failures > 0) = (failed_at is not null))
) strict;

-- A link with which somebody sets a password: the first one, or a new one when it was forgotten.
-- It works once and for a while; the newest of a person is the only one that works.
create table sign_in_link (
    id integer primary key not null,
    token_hash text not null unique,
    person_id integer not null references person (id),
    purpose text not null check (purpose in ('invitation', 'recovery')),
    -- Nobody, where it was made on the command line of the server.
    made_by integer references person (id),
    made_at text not null check (made_at glob '????-??-??T??:??:??Z'),
    expires_at text not null check (expires_at glob '????-??-??T??:??:??Z'),
    used_at text check (used_at glob '????-??-??T??:??:??Z'),
    ended_at text check (ended_at glob '????-??-??T??:??:??Z')
) strict;

create index sign_in_link_by_person on sign_in_link (person_id);

-- With a token a program asks pages and sends forms for a person, as far as its scope goes and never
-- further than the person's own role.
create table api_token (
    id integer primary key not null,
    name text not null check (length(name) between 1 and 60),
    token_hash text not null unique,
    person_id integer not null references person (id),
    -- The rooms that it may write in, as a JSON list of words; an empty one only reads.
    writes_in text not null default '[]' check (json_valid(writes_in)),
    made_at text not null check (made_at glob '????-??-??T??:??:??Z'),
    expires_at text not null check (expires_at glob '????-??-??T??:??:??Z'),
    seen_at text check (seen_at glob '????-??-??T??:??:??Z'),
    ended_at text check (ended_at glob '????-??-??T??:??:??Z')
) strict;

create index api_token_by_person on api_token (person_id);
