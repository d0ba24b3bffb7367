-- The time before anybody goes in again that the label or the law names. It is kept wherever it is longer than what
-- is reckoned; empty where neither names one.
alter table product add column reentry_min integer check (reentry_min between 1 and 10080);
