-- Read these files first: they say what a grower's records are made of.
--
-- Conventions. Every table is strict. Quantities are whole numbers with the unit in the column name
-- (ml, mm, g, min), because sums of whole numbers stay exact. A moment is text in UTC, always
-- 'YYYY-MM-DDTHH:MM:SSZ', so that text order is time order. A day is 'YYYY-MM-DD' in the site's zone.
-- What a record points at is retired or ended, never deleted. Tables that are a record carry triggers
-- that refuse update and delete: a correction is a new row that points at the old one.

-- The rule sets that a site can stand under. The rows are data with a date and a source, and a site
-- may enter its own; the product label and local codes win over all of them.
create table rule_set (
    code text primary key not null check (length(code) between 2 and 12),
    name text not null check (length(name) between 1 and 80),
    note text not null
) strict;

insert into rule_set (code, name, note) values
    ('eu', 'European Union', 'Harmonised limits of Regulation (EC) 1272/2008 Annex VI; the supplier''s label and safety data sheet win.'),
    ('uk', 'Great Britain', 'Retained CLP limits for Great Britain, taken as equal to the EU limits of 2020; the supplier''s label and safety data sheet win.'),
    ('us', 'United States', 'Generic mixture cut-offs of 29 CFR 1910.1200; a registered product''s own label wins.');

-- What a solution is classed as by its strength. Bands are inclusive below and exclusive above.
-- A changed band is a new row; the old one keeps its dates.
create table hazard_band (
    id integer primary key not null,
    rule_set text not null references rule_set (code),
    from_ww_ppm integer not null check (from_ww_ppm between 0 and 1000000),
    below_ww_ppm integer not null check (below_ww_ppm between 1 and 1000001),
    signal_word text not null check (signal_word in ('', 'Warning', 'Danger')),
    classes text not null,
    statements text not null,
    pictograms text not null,
    source text not null,
    in_force_from text not null check (in_force_from glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    ended_on text check (ended_on glob '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    check (below_ww_ppm > from_ww_ppm)
) strict;

create index hazard_band_by_rule_set on hazard_band (rule_set, from_ww_ppm);

insert into hazard_band (rule_set, from_ww_ppm, below_ww_ppm, signal_word, classes, statements, pictograms, source, in_force_from)
select r.code, b.from_ppm, b.below_ppm, b.word, b.classes, b.statements, b.pictograms, b.source, '2020-01-01'
  from (select 'eu' as code union all select 'uk') r
 cross join (
    select      0 as from_ppm,  50000 as below_ppm, '' as word, 'none by strength' as classes, '' as statements, '' as pictograms,
           'Regulation (EC) 1272/2008 Annex VI, index 008-003-00-9: no limit below 5 %' as source
    union all select  50000,  80000, 'Warning', 'Eye Irrit. 2', 'H319', 'GHS07',
           'Regulation (EC) 1272/2008 Annex VI, index 008-003-00-9'
    union all select  80000, 200000, 'Danger', 'Eye Dam. 1, Ox. Liq. 3', 'H318 H272', 'GHS03 GHS05',
           'Annex VI for H318; oxidiser band by transport practice and the GisChem data sheets'
    union all select 200000, 250000, 'Danger', 'Eye Dam. 1, Ox. Liq. 2', 'H318 H272', 'GHS03 GHS05',
           'Annex VI for H318; oxidiser band by transport practice and the GisChem data sheets'
    union all select 250000, 300000, 'Danger', 'Eye Dam. 1, Ox. Liq. 2, Acute Tox. 4 (swallowed)', 'H318 H272 H302', 'GHS03 GHS05 GHS07',
           'GisChem data sheets, from 25 %'
    union all select 300000, 350000, 'Danger', 'Eye Dam. 1, Ox. Liq. 2, Acute Tox. 4 (swallowed, inhaled)', 'H318 H272 H302 H332', 'GHS03 GHS05 GHS07',
           'GisChem data sheets, from 30 %'
    union all select 350000, 500000, 'Danger', 'Eye Dam. 1, Skin Irrit. 2, STOT SE 3, Ox. Liq. 2, Acute Tox. 4', 'H318 H315 H335 H272 H302 H332', 'GHS03 GHS05 GHS07',
           'Regulation (EC) 1272/2008 Annex VI, index 008-003-00-9'
    union all select 500000, 600000, 'Danger', 'Skin Corr. 1B, STOT SE 3, Ox. Liq. 2, Acute Tox. 4', 'H314 H335 H272 H302 H332', 'GHS03 GHS05 GHS07',
           'Regulation (EC) 1272/2008 Annex VI, index 008-003-00-9'
 ) b;

insert into hazard_band (rule_set, from_ww_ppm, below_ww_ppm, signal_word, classes, statements, pictograms, source, in_force_from) values
    ('us',      0,  10000, '', 'none by strength', '', '', '29 CFR 1910.1200 Appendix A.3, generic mixture cut-offs (from memory)', '2012-05-25'),
    ('us',  10000,  30000, 'Warning', 'Eye Irrit. 2A', 'H319', 'GHS07', '29 CFR 1910.1200 Appendix A.3, generic mixture cut-offs (from memory)', '2012-05-25'),
    ('us',  30000,  80000, 'Danger', 'Eye Dam. 1', 'H318', 'GHS05', '29 CFR 1910.1200 Appendix A.3, generic mixture cut-offs (from memory)', '2012-05-25'),
    ('us',  80000, 200000, 'Danger', 'Eye Dam. 1, Ox. Liq. 3', 'H318 H272', 'GHS03 GHS05', 'as above; oxidiser by transport class UN2984, 8 to 20 %', '2012-05-25'),
    ('us', 200000, 350000, 'Danger', 'Eye Dam. 1, Ox. Liq. 2, Acute Tox. 4', 'H318 H272 H302 H332', 'GHS03 GHS05 GHS07', 'as above; oxidiser by transport class UN2014', '2012-05-25'),
    ('us', 350000, 500000, 'Danger', 'Eye Dam. 1, Skin Irrit. 2, STOT SE 3, Ox. Liq. 2, Acute Tox. 4', 'H318 H315 H335 H272 H302 H332', 'GHS03 GHS05 GHS07', 'as above', '2012-05-25'),
    ('us', 500000, 600000, 'Danger', 'Skin Corr. 1B, STOT SE 3, Ox. Liq. 2, Acute Tox. 4', 'H314 H335 H272 H302 H332', 'GHS03 GHS05 GHS07', 'as above', '2012-05-25');

-- The site: a nursery or a school. Days and hours are in its zone.
create table site (
    id integer primary key not null,
    name text not null unique check (length(name) between 1 and 80),
    zone text not null,
    units text not null check (units in ('metric', 'us', 'imperial')),
    rule_set text not null references rule_set (code),
    -- The address under which people reach this server; it goes into the codes on job cards.
    address text,
    -- Working hours in minutes after midnight, and the days worked, Monday first, as '1111100'.
    day_starts_min integer not null default 480 check (day_starts_min between 0 and 1439),
    day_ends_min integer not null default 1020 check (day_ends_min between 1 and 1440),
    days_worked text not null default '1111100' check (days_worked glob '[01][01][01][01][01][01][01]'),
    -- Some sites ask a second adult to sign each release.
    second_signature integer not null default 0 check (second_signature in (0, 1)),
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check (day_ends_min > day_starts_min)
) strict;

-- The crew. A group of pupils is crew without personal data: a name and a head count.
create table person (
    id integer primary key not null,
    name text not null unique check (length(name) between 1 and 60),
    kind text not null default 'person' check (kind in ('person', 'group')),
    head_count integer not null default 1 check (head_count between 1 and 200),
    role text not null check (role in ('viewer', 'hand', 'lead', 'coordinator')),
    age_band text not null check (age_band in ('adult', 'minor')),
    sign_in text unique check (length(sign_in) between 2 and 60 and sign_in = lower(sign_in)),
    password_hash text,
    ended_at text check (ended_at glob '????-??-??T??:??:??Z'),
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    version integer not null default 1 check (version > 0),
    check (kind = 'person' or (sign_in is null and password_hash is null))
) strict;

-- A skill is a dated permission. It is withdrawn, never deleted, so that an old job still shows who might do what then.
create table skill (
    id integer primary key not null,
    person_id integer not null references person (id),
    kind text not null check (kind in ('concentrate', 'electrics', 'release')),
    granted_on text not null check (granted_on glob '????-??-??'),
    expires_on text check (expires_on glob '????-??-??'),
    evidence text not null,
    granted_by integer references person (id),
    withdrawn_at text check (withdrawn_at glob '????-??-??T??:??:??Z')
) strict;

create index skill_by_person on skill (person_id);

-- Only the hash of a session's token is kept: whoever reads the file cannot sign in with it.
create table session (
    token_hash text primary key not null,
    person_id integer not null references person (id),
    created_at text not null check (created_at glob '????-??-??T??:??:??Z'),
    seen_at text not null check (seen_at glob '????-??-??T??:??:??Z'),
    expires_at text not null check (expires_at glob '????-??-??T??:??:??Z')
) strict;

-- Each form carries a key. A repeated tap finds the key here and is sent to the answer of the first.
create table post_key (
    key text primary key not null check (length(key) between 16 and 64),
    location text not null,
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;

-- The record of everything. Each row carries the hash of the one before it, so that a changed, removed,
-- inserted or reordered row breaks the chain.
create table logbook (
    id integer primary key not null check (id > 0),
    at text not null check (at glob '????-??-??T??:??:??Z'),
    person_id integer references person (id),
    -- The name as it was then; a person may change it later.
    person_name text not null,
    -- What it is about, as 'system/3', and how a reader calls it.
    about text not null,
    subject text not null,
    what text not null,
    detail text not null check (json_valid(detail)),
    previous_hash text not null check (length(previous_hash) = 64),
    hash text not null unique check (length(hash) = 64)
) strict;

create index logbook_by_about on logbook (about, id);

create trigger logbook_is_not_changed before update on logbook begin select raise(abort, 'the logbook is added to, never changed'); end;
create trigger logbook_is_not_deleted before delete on logbook begin select raise(abort, 'the logbook is added to, never changed'); end;
