-- A clean-out is one job: one system, one gap, one method version.

create table cleanout (
    id integer primary key not null,
    -- '27-0042': two digits of the year, then a running number within it.
    number text not null unique check (number glob '[0-9][0-9]-[0-9][0-9][0-9][0-9]'),
    system_id integer not null references system (id),
    -- The planting that comes off before it.
    planting_id integer references planting (id),
    method_version_id integer not null references method_version (id),
    state text not null check (state in ('proposed', 'booked', 'issued', 'under way', 'held', 'released', 'called off')),
    starts_on text not null check (starts_on glob '????-??-??'),
    starts_min integer not null check (starts_min between 0 and 1439),
    -- From the method's phases when it was proposed.
    length_min integer not null check (length_min between 1 and 20160),
    -- Booked to.
    person_id integer references person (id),
    -- Who pours the concentrate: an adult with the skill for it on that day.
    pours_person_id integer references person (id),
    -- Who else takes part, as 'group 7B from the rinse on'.
    others text not null default '' check (length(others) <= 200),
    -- What the dose sheet is worked from; chosen before the card is issued.
    lot_id integer references lot (id),
    jug_id integer references jug (id),
    target_value real not null check (target_value > 0),
    target_basis text not null check (target_basis in ('% w/w', '% w/v', 'vol', 'g/L', 'mg/L')),
    target_source text not null check (target_source in ('label', 'adviser', 'none')),
    target_reference text not null default '',
    solution_tenths_celsius integer not null default 200 check (solution_tenths_celsius between 0 and 400),
    water text not null default 'reverse osmosis' check (water in ('reverse osmosis', 'distilled', 'deionised', 'rain', 'mains', 'other')),
    water_on_hand_ml integer check (water_on_hand_ml >= 0),
    -- Whether the media was let go dry, which takes more water.
    media_was text not null default 'wet' check (media_was in ('dry', 'wet')),
    called_off_reason text,
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check ((state = 'called off') = (called_off_reason is not null)),
    check (state in ('proposed', 'called off') or person_id is not null)
) strict;

create index cleanout_by_system on cleanout (system_id, id);
create index cleanout_by_state on cleanout (state, starts_on);
-- A system has one open clean-out at a time.
create unique index cleanout_one_open on cleanout (system_id) where state not in ('released', 'called off');

-- A system is not retired or laid up while a clean-out of it is open or a crop grows in it.
create trigger system_in_use_is_not_retired before update of retired_at on system
 when new.retired_at is not null and old.retired_at is null
  and (exists (select 1 from cleanout c where c.system_id = new.id and c.state not in ('released', 'called off'))
    or exists (select 1 from planting p where p.system_id = new.id and p.stage = 'growing'))
begin select raise(abort, 'the system is in use'); end;

create trigger system_in_use_is_not_laid_up before update of laid_up_since on system
 when new.laid_up_since is not null and old.laid_up_since is null
  and (exists (select 1 from cleanout c where c.system_id = new.id and c.state not in ('released', 'called off'))
    or exists (select 1 from planting p where p.system_id = new.id and p.stage = 'growing'))
begin select raise(abort, 'the system is in use'); end;

-- What was released before a quarantine is cleaned out again before anything is planted.
create trigger quarantine_voids_releases after update of quarantined_since on system
 when new.quarantined_since is not null and old.quarantined_since is null
begin
    update system
       set releases_void_to = coalesce(
            (select max(c.id) from cleanout c where c.system_id = new.id and c.state = 'released'),
            releases_void_to)
     where id = new.id;
end;

-- The card as it was issued: method, volumes, lots, dose sheet, all as JSON, never changed.
create table cleanout_card (
    cleanout_id integer primary key not null references cleanout (id),
    card text not null check (json_valid(card)),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

-- What was done to a step. The newest row counts; 'undone' takes a tick back and both stay readable.
create table step_entry (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    step_no integer not null check (step_no between 1 and 99),
    what text not null check (what in ('done', 'undone', 'begun', 'ended')),
    person_id integer not null references person (id),
    -- The second adult, where the step asks for two.
    second_person_id integer references person (id),
    note text not null default '',
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index step_entry_by_cleanout on step_entry (cleanout_id, step_no, id);

-- An amount really poured. Its stock entry was written in the same transaction.
create table pour (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    step_no integer not null check (step_no between 1 and 99),
    pour_no integer not null check (pour_no between 1 and 200),
    planned_ml integer not null check (planned_ml >= 0),
    poured_ml integer not null check (poured_ml between 1 and 20000),
    lot_id integer not null references lot (id),
    stock_entry_id integer not null unique references stock_entry (id),
    person_id integer not null references person (id),
    second_person_id integer references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    unique (cleanout_id, pour_no)
) strict;

-- A measured value, in thousandths of its unit: mg/L of peroxide, pH, mS/cm of EC, degrees Celsius, litres, seconds.
create table reading (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    step_no integer check (step_no between 1 and 99),
    reading text not null check (reading in ('peroxide', 'ph', 'ec', 'temperature', 'litres', 'flood seconds', 'drain seconds')),
    value_milli integer not null check (value_milli between 0 and 100000000000),
    -- A strip's lowest step says 'not more than'.
    bound text not null default 'exact' check (bound in ('exact', 'at most')),
    -- Lot and expiry of the strip or buffer.
    tool text not null default '',
    tool_expires_on text check (tool_expires_on glob '????-??-??'),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    corrects integer references reading (id)
) strict;

create index reading_by_cleanout on reading (cleanout_id, reading, id);

-- The signed decision. The limits, the readings and what was missing are kept with it.
create table release_decision (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    outcome text not null check (outcome in ('released', 'held')),
    findings text not null check (json_valid(findings)),
    reason text not null default '',
    person_id integer not null references person (id),
    second_person_id integer references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create index release_decision_by_cleanout on release_decision (cleanout_id, id);

-- A spill, an exposure, an overflow, a failed check: noted while the job runs.
create table trouble_note (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    step_no integer check (step_no between 1 and 99),
    text text not null check (length(text) between 1 and 2000),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

create trigger cleanout_card_is_not_changed before update on cleanout_card begin select raise(abort, 'an issued card is never changed'); end;
create trigger cleanout_card_is_not_deleted before delete on cleanout_card begin select raise(abort, 'an issued card is never changed'); end;
create trigger step_entry_is_not_changed before update on step_entry begin select raise(abort, 'the run is added to, never changed'); end;
create trigger step_entry_is_not_deleted before delete on step_entry begin select raise(abort, 'the run is added to, never changed'); end;
create trigger pour_is_not_changed before update on pour begin select raise(abort, 'the run is added to, never changed'); end;
create trigger pour_is_not_deleted before delete on pour begin select raise(abort, 'the run is added to, never changed'); end;
create trigger reading_is_not_changed before update on reading begin select raise(abort, 'the run is added to, never changed'); end;
create trigger reading_is_not_deleted before delete on reading begin select raise(abort, 'the run is added to, never changed'); end;
create trigger release_decision_is_not_changed before update on release_decision begin select raise(abort, 'decisions are added to, never changed'); end;
create trigger release_decision_is_not_deleted before delete on release_decision begin select raise(abort, 'decisions are added to, never changed'); end;
create trigger trouble_note_is_not_changed before update on trouble_note begin select raise(abort, 'the run is added to, never changed'); end;
create trigger trouble_note_is_not_deleted before delete on trouble_note begin select raise(abort, 'the run is added to, never changed'); end;
