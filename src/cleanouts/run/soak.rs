//! Strips in the soak: between what its strength lies, how fast it falls at most, and what would keep
//! it up. All of it goes by the ends of the readings' ranges; a reading decides, and not the sum.

use chrono::TimeDelta;
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::time::minute;

use super::{Job, Reading, Standing, counting};
use crate::cleanouts::card::{FrozenLimit, FrozenStep, ReadingKind};
use crate::clock::Moment;
use crate::science::decay::{DecayBetween, DecayRate, NotYet, contact_between, decay_between};
use crate::science::peroxide;
use crate::science::quantity::{MassConcentration, OutOfRange, Time, WaterTemperature};
use crate::science::show;
use crate::science::soak::{LabelTerm, TopUp, top_up};
use crate::science::stored::Minutes;
use crate::science::strength::{Basis, Strength};
use crate::science::strip::StrengthBetween;

/// What is poured by: the lead, the label and the books.
const WHO_TOPS_UP: &str = "A lead decides, and what the label says of topping up wins. It is a pour like the others: protection on. Take it out of the lot under Stock and note it under Trouble. It neither restarts nor shortens the time.";

/// How far a top-up may go over the least on a card without a range (common practice, no source).
const OVER_WITHOUT_RANGE: f64 = 1.1;

impl Job {
    fn water_temperature(&self) -> Option<WaterTemperature> {
        let celsius = self.card.dose.temperature.celsius().ok()?;
        WaterTemperature::new(celsius.degrees()).ok()
    }

    fn in_mg(&self, strength: Strength) -> Option<MassConcentration> {
        let on = strength.on(Basis::MilligramsPerLitre, self.water_temperature()?);
        Some(MassConcentration::new::<milligram_per_liter>(
            on.ok()?.value(),
        ))
    }

    /// The weakest that the card reckons with; where a lead stopped the pours, as much weaker as that
    /// made it.
    fn soak_least(&self) -> Option<MassConcentration> {
        let dose = &self.card.dose;
        let least = self.in_mg(dose.range.map_or(dose.target, |(weakest, _)| weakest))?;
        let poured = dose
            .gives(self.dosed.sum)
            .ok()
            .and_then(|gives| self.in_mg(gives))?;
        let asked = self.in_mg(dose.target)?;
        let stopped = self
            .card
            .method
            .steps
            .iter()
            .any(|step| self.progress().stopped(step).is_some());
        Some(if stopped && poured < asked {
            least * (poured.value / asked.value)
        } else {
            least
        })
    }

    /// What a strip in the soak is held against.
    pub fn soak_limit(&self) -> Option<FrozenLimit> {
        let least = self.soak_least()?.get::<milligram_per_liter>();
        Some(FrozenLimit {
            reading: ReadingKind::Peroxide,
            at_least_milli: Some((least * 1000.0).floor() as i64),
            at_most_milli: None,
            why: String::new(),
        })
    }

    /// The readings of the soak that stands, or of the last one.
    fn soak_readings(&self, step: &FrozenStep, standing: Standing) -> Vec<(Moment, &Reading)> {
        let since = match standing {
            Standing::Going { since } => Some(since),
            _ => {
                let stretches = self.progress().stretches(step);
                stretches.last().map(|stretch| stretch.begun.at)
            }
        };
        counting(&self.record.readings)
            .into_iter()
            .filter(|(at, reading)| {
                reading.step_no == Some(step.no)
                    && reading.value.kind() == ReadingKind::Peroxide
                    && since.is_some_and(|since| *at >= since)
            })
            .collect()
    }

    /// What the strips of a soak say together, and what would keep it up.
    pub fn soak_says(&self, step: &FrozenStep, standing: Standing) -> Vec<String> {
        let readings = self.soak_readings(step, standing);
        let (Some((first, _)), Some(least)) = (readings.first().copied(), self.soak_least()) else {
            return Vec::new();
        };
        let ranges: Vec<(Time, StrengthBetween)> = readings
            .iter()
            .map(|(at, reading)| {
                let passed = Time::new::<minute>(at.since(first).num_seconds() as f64 / 60.0);
                (passed, reading.value.span().strengths())
            })
            .collect();
        let fall = decay_between(&ranges);
        let mut says = vec![match fall {
            Ok(fall) => fall_words(fall),
            Err(NotYet::TooFewReadings) => {
                "A second strip, some time after the first, says how fast it falls.".to_owned()
            }
            Err(not_yet) => format!("{}.", not_yet.words()),
        }];
        if ranges.len() > 1 {
            says.extend(contact_words(&ranges).ok());
        }
        if let (Standing::Going { since }, Some((_, now))) = (standing, ranges.last()) {
            let least_minutes = step.minutes.map_or(0, Minutes::get);
            let left = since
                .plus(TimeDelta::minutes(least_minutes))
                .since(self.now);
            let left = Time::new::<minute>(left.num_seconds() as f64 / 60.0);
            let fastest = fall.ok().map(|fall| fall.fastest);
            says.extend(self.top_up_words(*now, fastest, least, left));
        }
        says
    }

    /// What to add so that even the weaker end keeps up, at the fastest fall that the readings allow.
    fn top_up_words(
        &self,
        now: StrengthBetween,
        fastest: Option<Option<DecayRate>>,
        least: MassConcentration,
        left: Time,
    ) -> Option<String> {
        if left < Time::new::<minute>(1.0) {
            return None;
        }
        let rate = match fastest {
            None if now.from >= least => return None,
            // One reading says nothing of a fall: what is missing now is all that can be said.
            None => DecayRate::NONE,
            Some(None) => {
                return Some("How fast it falls has no upper end while a strip shows its lowest colour: reckon with the soak having lost its strength. A titration says how much is left.".to_owned());
            }
            Some(Some(rate)) => rate,
        };
        let strongest = self
            .card
            .dose
            .range
            .and_then(|(_, strongest)| self.in_mg(strongest))
            .unwrap_or(least * OVER_WITHOUT_RANGE)
            .max(least);
        let term = LabelTerm::new(least, left).ok()?;
        let volume = self.card.dose.finished.volume();
        let mg = |strength: MassConcentration| {
            let figure = strength.get::<milligram_per_liter>();
            format!("{}\u{a0}mg/L", show::figures(figure, 3))
        };
        let plan = top_up(now.from, rate, &term, 0.0, strongest, volume).ok()?;
        Some(match plan {
            TopUp::NotNeeded => format!(
                "Even from its weaker end and at the fastest fall that the readings allow it stays above {} to the end: nothing is added.",
                mg(least)
            ),
            TopUp::CannotHold => format!(
                "At the fastest fall that the readings allow, no top-up within the card's range holds {} for a minute: something eats the peroxide. Titrate; if that shows the same, drain, clean and begin anew.",
                mg(least)
            ),
            TopUp::Due {
                after,
                to,
                peroxide,
                lasts,
            } => {
                let stock = self.stock_volume(peroxide)?;
                let due = if after < Time::new::<minute>(1.0) {
                    "Now".to_owned()
                } else {
                    format!("In {}", show::time(after))
                };
                let added = MassConcentration::new::<milligram_per_liter>(
                    peroxide.get::<uom::si::mass::milligram>()
                        / volume.get::<uom::si::volume::liter>(),
                );
                let over = match now.to {
                    Some(upper) if rate.after(upper, after) + added <= strongest => String::new(),
                    Some(upper) => format!(
                        " If the stronger end is the true one, that makes {}, above the {} that the card reckons with: titrate before anything is added.",
                        mg(rate.after(upper, after) + added),
                        mg(strongest)
                    ),
                    None => " The strip shows its highest colour, so it may be far stronger: dilute and read again, or titrate, before anything is added.".to_owned(),
                };
                let again = if after + lasts < left - Time::new::<minute>(1.0) {
                    format!(
                        " At that fall it lasts {}: read again before.",
                        show::time(lasts)
                    )
                } else {
                    String::new()
                };
                format!(
                    "To keep even the weaker end above {}: {} {} of lot {}, which brings that end to {}.{again}{over} {WHO_TOPS_UP}",
                    mg(least),
                    due.to_lowercase(),
                    show::pour(stock, self.who.site.units),
                    self.card.dose.lot.code,
                    mg(to),
                )
            }
        })
    }

    /// The stock that holds so much peroxide.
    fn stock_volume(
        &self,
        peroxide: crate::science::quantity::Mass,
    ) -> Option<crate::science::quantity::Volume> {
        let temperature = self.water_temperature()?;
        let fraction = self.card.dose.stock.mass_fraction(temperature).ok()?;
        let density = peroxide::density(fraction, temperature).ok()?;
        (fraction.get() > 0.0).then(|| peroxide / (density * fraction.get()))
    }
}

fn fall_words(fall: DecayBetween) -> String {
    let lost = |rate: DecayRate| {
        let part = 1.0 - (-60.0 * rate.in_per_minute()).exp();
        format!("{}\u{a0}%", show::figures(part * 100.0, 2))
    };
    match fall.fastest {
        Some(fastest) => format!(
            "In an hour it loses between {} and {}, as far as the ranges of the readings tell.",
            lost(fall.slowest),
            lost(fastest)
        ),
        None => format!(
            "In an hour it loses at least {}; no reading bounds it upwards.",
            lost(fall.slowest)
        ),
    }
}

fn contact_words(ranges: &[(Time, StrengthBetween)]) -> Result<String, OutOfRange> {
    let (least, most) = contact_between(ranges)?;
    let figure =
        |contact: crate::science::soak::Contact| show::figures(contact.mg_min_per_litre(), 3);
    let words = match most {
        Some(most) => format!("between {} and {}", figure(least), figure(most)),
        None => format!("at least {}", figure(least)),
    };
    Ok(format!(
        "Contact from the first reading to the newest: {words}\u{a0}mg·min/L. It is a record; no label is met by it."
    ))
}
