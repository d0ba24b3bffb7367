-- The calculators show formulas and no record of the site, so a site may let its pupils, neighbours or
-- a supplier read them without signing in. It is off until a coordinator says so: an address that
-- answers strangers is a choice that a site makes, never one that is made for it.
alter table site add column calculators_open integer not null default 0 check (calculators_open in (0, 1));
