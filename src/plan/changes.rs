//! Changes that are not saved yet: each is made to a copy of the sources, as its form would write it.
//!
//! That a copy with the change says the same as the records do once it is saved is held by the stories of
//! `tests/it/effects.rs`.

use std::sync::Arc;

use chrono::NaiveDate;

use super::sources::Sources;
use crate::crops::Turnover;
use crate::hours::{NewDays, Owner, UnusualDays, UsualWeek, Week};
use crate::ids::{DeliveryId, PersonId, PlantingId, UnusualDaysId, UsualWeekId};
use crate::stock::delivery::{Delivery, DeliveryFate, NewDelivery};
use crate::text::Name;
use crate::turnovers::board::Stand;

/// What somebody is about to save.
#[derive(Clone, Debug)]
pub enum Change {
    /// A planting gets other days.
    Turnover(PlantingId, Turnover),
    /// Days that are not as usual, in the place of earlier ones where some are named.
    Days {
        owner: Owner,
        new: NewDays,
        instead_of: Option<UnusualDaysId>,
    },
    /// A usual week that counts from a day on.
    Week {
        owner: Owner,
        week: Week,
        from: NaiveDate,
    },
    /// A delivery is expected on another day.
    DeliveryMoved(DeliveryId, NaiveDate),
    /// A delivery does not come.
    DeliveryCalledOff(DeliveryId),
    /// A delivery of this product, by its name, is ordered.
    DeliveryExpected(NewDelivery, Name),
}

/// The author of what nobody has written yet.
const NOBODY: i64 = 0;

impl Change {
    /// Makes the change to a copy.
    pub fn made(&self, sources: &mut Sources) {
        let (by, at) = (sources.site.name.clone(), sources.now);
        match self.clone() {
            Self::Turnover(id, turnover) => {
                let stands = sources.board.stands.iter_mut();
                let holds = |stand: &Stand| stand.plantings.iter().any(|one| one.id == id);
                if let Some(stand) = stands.into_iter().find(|stand| holds(stand)) {
                    let mut plantings = Arc::make_mut(stand).plantings.iter_mut();
                    if let Some(planting) = plantings.find(|planting| planting.id == id) {
                        planting.turnover_on = turnover.off_on;
                        planting.next_on = turnover.next_on;
                        planting.next_crop = turnover.next_crop;
                    }
                }
            }
            Self::Days {
                owner,
                new,
                instead_of,
            } => {
                let times = Arc::make_mut(&mut sources.times);
                if let Some(old) = instead_of {
                    times.take_out(owner, old);
                }
                times.add_days(UnusualDays {
                    id: UnusualDaysId::from_row(NOBODY),
                    owner,
                    new,
                    author_id: PersonId::from_row(NOBODY),
                    author: by,
                    at,
                    corrects: instead_of,
                    replaced: false,
                    taken_back: false,
                });
            }
            Self::Week { owner, week, from } => {
                Arc::make_mut(&mut sources.times).add_week(UsualWeek {
                    // Of two from the same day the later one counts.
                    id: UsualWeekId::from_row(i64::MAX),
                    owner,
                    in_force_from: from,
                    week,
                    author: by,
                    at,
                });
            }
            Self::DeliveryMoved(id, day) => {
                let mut deliveries = sources.deliveries.iter_mut();
                if let Some(delivery) = deliveries.find(|delivery| delivery.id == id) {
                    delivery.expected_on = day;
                }
            }
            Self::DeliveryCalledOff(id) => {
                let mut deliveries = sources.deliveries.iter_mut();
                if let Some(delivery) = deliveries.find(|delivery| delivery.id == id) {
                    delivery.fate = DeliveryFate::CalledOff;
                }
            }
            Self::DeliveryExpected(new, product) => sources.deliveries.push(Delivery {
                id: DeliveryId::from_row(NOBODY),
                product_id: new.product_id,
                product,
                amount: new.amount,
                note: new.note,
                fate: DeliveryFate::Expected,
                expected_on: new.expected_on,
                lot: None,
            }),
        }
    }
}
