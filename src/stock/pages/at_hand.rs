//! What stands at the site, as the limits look at it, for every form that puts something somewhere.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use crate::crew::Who;
use crate::science::units::Units;
use crate::site::storage::StorageBand;
use crate::site::{self, Site};
use crate::stock::limits::{self, Arrival, Standing, Warning};
use crate::stock::stores::Store;
use crate::stock::{Lot, store};
use crate::web::FormErrors;

#[derive(Debug)]
pub struct AtHand {
    pub lots: Vec<Lot>,
    pub stores: Vec<Store>,
    bands: Vec<StorageBand>,
    day: NaiveDate,
    units: Units,
}

impl AtHand {
    pub async fn load(
        conn: &mut SqliteConnection,
        site: &Site,
        day: NaiveDate,
    ) -> anyhow::Result<Self> {
        let mut bands = site::store::storage::bands(conn, &site.rule_set).await?;
        bands.retain(|band| {
            band.in_force_from <= day && band.ended_on.is_none_or(|ended| day < ended)
        });
        Ok(Self {
            lots: store::with_balance(conn).await?,
            stores: store::stores(conn).await?,
            bands,
            day,
            units: site.units,
        })
    }

    pub fn warnings(&self, arrival: Option<&Arrival>) -> Vec<Warning> {
        limits::warnings(&self.standing(), arrival)
    }

    /// As the limits look at it.
    pub fn standing(&self) -> Standing<'_> {
        Standing {
            lots: &self.lots,
            stores: &self.stores,
            bands: &self.bands,
            day: self.day,
            units: self.units,
        }
    }
}

/// What is to be said, and whether it was ticked as known. A limit that is only near asks for no tick.
pub fn look(warnings: &[Warning], known: &str) -> Result<(), FormErrors> {
    let crossed = warnings.iter().any(|warning| warning.crossed);
    if crossed && known != "yes" {
        return Err(FormErrors::only(
            "known",
            "A limit would be crossed, or two things would stand together that must not. Read it above; tick this only if it has to be so.",
        ));
    }
    Ok(())
}

/// As the logbook keeps it.
pub fn said(warnings: &[Warning], who: &Who) -> serde_json::Value {
    let words: Vec<&str> = warnings.iter().map(|one| one.words.as_str()).collect();
    match words.is_empty() {
        true => serde_json::Value::Null,
        false => serde_json::json!({ "said": words, "known to": who.author().name }),
    }
}
