//! The SQL of what is mixed here.

use chrono::NaiveDate;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{LotId, PersonId, StoreId};
use crate::science::quantity::MassFraction;
use crate::science::stored::Millilitres;
use crate::stock::Lot;
use crate::stock::made::{LOSS_PERMILLE, Mix, MixWater};

/// A mix that goes on as a lot of its own.
#[derive(Clone, Debug)]
pub struct NewMade {
    pub code: String,
    pub store: Option<StoreId>,
    pub kept_in: String,
    pub container: Option<Millilitres>,
    pub water: MixWater,
    pub use_by: NaiveDate,
    pub today: NaiveDate,
}

fn ppm(fraction: MassFraction) -> i64 {
    (fraction.get() * 1e6).round() as i64
}

/// Writes the mix down. The entries of both lots are written in the same transaction.
pub async fn insert_made(
    tx: &mut WriteTx,
    of: &Lot,
    mix: &Mix,
    new: &NewMade,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<LotId> {
    let id = sqlx::query_scalar!(
        r#"insert into lot (product_id, code, received_on, opened_on, retest_on, kept_in, loss_permille_per_year, created_at,
                            store_id, container_ml, part_of)
           values (?1, ?2, ?3, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10) returning id as "id!: LotId""#,
        of.product_id,
        new.code,
        new.today,
        new.use_by,
        new.kept_in,
        LOSS_PERMILLE,
        at,
        new.store,
        new.container,
        of.id,
    )
    .fetch_one(tx.conn())
    .await?;
    let (value, basis) = (mix.strength.value(), mix.strength.basis());
    let (ww_ppm, from_ww_ppm) = (ppm(mix.fraction), ppm(mix.from));
    sqlx::query!(
        "insert into made_solution (lot_id, from_lot_id, strength_value, strength_basis, ww_ppm, from_ww_ppm, concentrate_ml,
                                    water_ml, water, use_by, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12)",
        id,
        of.id,
        value,
        basis,
        ww_ppm,
        from_ww_ppm,
        mix.concentrate,
        mix.water,
        new.water,
        new.use_by,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(id)
}

/// A part of what was mixed is as strong as the whole: it takes over what the whole was mixed from.
pub(super) async fn part_of_made(tx: &mut WriteTx, of: LotId, part: LotId) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into made_solution (lot_id, from_lot_id, strength_value, strength_basis, ww_ppm, from_ww_ppm, concentrate_ml,
                                    water_ml, water, use_by, person_id, at)
         select ?2, from_lot_id, strength_value, strength_basis, ww_ppm, from_ww_ppm, concentrate_ml, water_ml, water, use_by,
                person_id, at
           from made_solution where lot_id = ?1",
        of,
        part,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
