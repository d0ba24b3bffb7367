-- What a percent of a hypochlorite label counts: the chlorine that is available, or the salt itself. They differ by a
-- twentieth, and a label prints either.
alter table product add column chlorine_as text check (chlorine_as in ('available chlorine', 'sodium hypochlorite'));

-- Which product a step of the method is done with that puts something else than peroxide into the water. A changed
-- choice is a new row; the newest counts.
create table cleanout_product (
    id integer primary key not null,
    cleanout_id integer not null references cleanout (id),
    agent text not null check (agent in (
        'peracetic acid blend', 'hypochlorite', 'chlorine dioxide', 'quaternary ammonium', 'acid', 'alkaline cleaner',
        'ammonia', 'alcohol', 'permanganate', 'detergent', 'fertiliser or crop protection concentrate')),
    -- Empty: none of the stock.
    product_id integer references product (id),
    person_id integer not null references person (id),
    at text not null check (at glob '????-??-??T??:??:??Z')
) strict;
create index cleanout_product_of on cleanout_product (cleanout_id, agent);
create trigger cleanout_product_no_update before update on cleanout_product
begin select raise(abort, 'a choice is a record: choose again'); end;
create trigger cleanout_product_no_delete before delete on cleanout_product
begin select raise(abort, 'a choice is a record: choose again'); end;
