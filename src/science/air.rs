//! Air in a room: how a vapour builds up and clears, and when people may go in.
//!
//! The well-mixed room is an average. Corners, bench undersides and the air over the water stand
//! higher. A label's or a law's re-entry time wins over every figure here, and a figure here can
//! only make the wait longer.

use uom::si::f64::{Mass, MassConcentration, Time, Volume, VolumeRate};
use uom::si::mass_concentration::milligram_per_cubic_meter;
use uom::si::ratio::percent;
use uom::si::time::{hour, minute};
use uom::si::volume::cubic_meter;
use uom::si::volume_rate::liter_per_minute;

use super::peroxide::oxygen_of_decomposition;
use super::quantity::{Celsius, OutOfRange, Ratio, within};
use super::units::CUBIC_FOOT_LITRES;

/// Oxygen in fresh air, percent by volume.
pub const OXYGEN_IN_AIR: f64 = 20.95;
/// Above this, percent by volume, air feeds a fire (US workplace limit, from memory).
pub const OXYGEN_ENRICHED: f64 = 23.5;

/// The mixing factor of a room where nobody measured it: common practice, no source.
pub const USUAL_MIXING: f64 = 3.0;

/// A room as air moves through it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    volume_m3: f64,
    changes_per_hour: f64,
    mixing: f64,
}

impl Room {
    /// A room of a volume, with so many air changes an hour and a mixing factor K by which the
    /// air changes are divided: 1 for perfect mixing, 3 is usual, 10 for dead corners.
    ///
    /// Range: volume 1 to 1e6 m³, 0.01 to 200 air changes an hour, K from 1 to 10.
    ///
    /// ```
    /// use slackwater::science::air::Room;
    /// use uom::si::f64::Volume;
    /// use uom::si::volume::cubic_meter;
    /// let house = Volume::new::<cubic_meter>(200.0);
    /// assert!(Room::new(house, 6.0, 3.0).is_ok());
    /// // A room without any change of air has no clearing time.
    /// assert!(Room::new(house, 0.0, 3.0).is_err());
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn new(volume: Volume, changes_per_hour: f64, mixing: f64) -> Result<Self, OutOfRange> {
        let m3 = volume.get::<cubic_meter>();
        Ok(Self {
            volume_m3: within("The room volume", m3, 1.0, 1e6, "\u{a0}m³")?,
            changes_per_hour: changes_in_range(changes_per_hour)?,
            mixing: within("The mixing factor", mixing, 1.0, 10.0, "")?,
        })
    }

    /// Effective air changes a minute.
    fn per_minute(&self) -> f64 {
        self.changes_per_hour / self.mixing / 60.0
    }

    /// Concentration that a steady source ends at: C_s = C_in + G/(Q/K).
    ///
    /// `source` is mass a minute: give the mass that evaporates in one minute. Range: source 0 to
    /// 1 kg a minute, incoming 0 to 1000 mg/m³.
    ///
    /// ```
    /// use slackwater::science::air::Room;
    /// use uom::si::f64::{Mass, MassConcentration, Volume};
    /// use uom::si::mass::milligram;
    /// use uom::si::mass_concentration::milligram_per_cubic_meter;
    /// use uom::si::volume::cubic_meter;
    /// let room = Room::new(Volume::new::<cubic_meter>(200.0), 2.0, 1.0)?;
    /// let none = MassConcentration::new::<milligram_per_cubic_meter>(0.0);
    /// let steady = room.steady(Mass::new::<milligram>(50.0), none)?;
    /// assert!((steady.get::<milligram_per_cubic_meter>() - 7.5).abs() < 1e-9);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn steady(
        &self,
        source_per_minute: Mass,
        incoming: MassConcentration,
    ) -> Result<MassConcentration, OutOfRange> {
        let mg = source_per_minute.value * 1e6;
        let source = within("The source", mg, 0.0, 1e6, "\u{a0}mg a minute")?;
        let incoming = concentration("The incoming air", incoming, 1000.0)?;
        let flow = self.volume_m3 * self.per_minute();
        Ok(MassConcentration::new::<milligram_per_cubic_meter>(
            incoming + source / flow,
        ))
    }

    /// Concentration after a time: C = C_s + (C₀ - C_s) exp(-λ t), λ = Q/(K V).
    ///
    /// Average of a well-mixed room, not a bound. Range: time 0 to 7 days.
    ///
    /// ```
    /// use slackwater::science::air::Room;
    /// use uom::si::f64::{MassConcentration, Time, Volume};
    /// use uom::si::mass_concentration::milligram_per_cubic_meter;
    /// use uom::si::time::minute;
    /// use uom::si::volume::cubic_meter;
    /// let mg = MassConcentration::new::<milligram_per_cubic_meter>;
    /// let room = Room::new(Volume::new::<cubic_meter>(200.0), 2.0, 1.0)?;
    /// let c = room.after(mg(0.0), mg(7.5), Time::new::<minute>(30.0))?;
    /// assert!((c.get::<milligram_per_cubic_meter>() - 4.740904).abs() < 1e-6);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn after(
        &self,
        start: MassConcentration,
        steady: MassConcentration,
        time: Time,
    ) -> Result<MassConcentration, OutOfRange> {
        let t = within("The time", time.get::<minute>(), 0.0, 10_080.0, "\u{a0}min")?;
        Ok(steady + (start - steady) * (-self.per_minute() * t).exp())
    }

    /// Time until the room's average is down to a limit: t = ln((C₀ - C_s)/(C_l - C_s))/λ; none
    /// when the steady concentration is at or above the limit.
    ///
    /// Range: concentrations 0 to 1e6 mg/m³, limit 0.0001 to 1e6 mg/m³.
    ///
    /// ```
    /// use slackwater::science::air::Room;
    /// use uom::si::f64::{MassConcentration, Volume};
    /// use uom::si::mass_concentration::milligram_per_cubic_meter;
    /// use uom::si::time::minute;
    /// use uom::si::volume::cubic_meter;
    /// let mg = MassConcentration::new::<milligram_per_cubic_meter>;
    /// let room = Room::new(Volume::new::<cubic_meter>(200.0), 6.0, 3.0)?;
    /// let time = room.time_to(mg(7.5), mg(0.0), mg(1.4))?.unwrap();
    /// assert!((time.get::<minute>() - 50.35292).abs() < 1e-5);
    /// assert_eq!(room.time_to(mg(7.5), mg(1.4), mg(1.4))?, None);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn time_to(
        &self,
        start: MassConcentration,
        steady: MassConcentration,
        limit: MassConcentration,
    ) -> Result<Option<Time>, OutOfRange> {
        let c0 = concentration("The concentration at the start", start, 1e6)?;
        let cs = concentration("The steady concentration", steady, 1e6)?;
        let cl = limit.get::<milligram_per_cubic_meter>();
        let cl = within("The limit", cl, 0.0001, 1e6, "\u{a0}mg/m³")?;
        if cs >= cl {
            return Ok(None);
        }
        let minutes = ((c0 - cs) / (cl - cs)).max(1.0).ln() / self.per_minute();
        Ok(Some(Time::new::<minute>(minutes)))
    }

    /// Time in which the room's effective air changes reach a number: t = n K/ACH.
    ///
    /// Range: 0 to 100 air changes.
    ///
    /// ```
    /// use slackwater::science::air::Room;
    /// use uom::si::f64::Volume;
    /// use uom::si::time::minute;
    /// use uom::si::volume::cubic_meter;
    /// let room = Room::new(Volume::new::<cubic_meter>(200.0), 6.0, 1.0)?;
    /// assert!((room.time_for_changes(10.0)?.get::<minute>() - 100.0).abs() < 1e-9);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A number outside the range.
    pub fn time_for_changes(&self, changes: f64) -> Result<Time, OutOfRange> {
        let n = within("The number of air changes", changes, 0.0, 100.0, "")?;
        Ok(Time::new::<minute>(n / self.per_minute()))
    }
}

fn changes_in_range(per_hour: f64) -> Result<f64, OutOfRange> {
    within("The air changes", per_hour, 0.01, 200.0, "\u{a0}an hour")
}

fn concentration(what: &'static str, c: MassConcentration, most: f64) -> Result<f64, OutOfRange> {
    within(
        what,
        c.get::<milligram_per_cubic_meter>(),
        0.0,
        most,
        "\u{a0}mg/m³",
    )
}

/// Time in which ventilation removes a part of what is in the air, once the source has stopped:
/// t = 60 ln(1/(1 - part))/ACH minutes, at a mixing factor of 1.
///
/// Source: the air change tables of US CDC 2003 (Table B.1) and Health Canada 1996 (Appendix F)
/// are this formula, rounded. Range: part 0 to 0.999999, 0.01 to 200 air changes an hour.
///
/// ```
/// use slackwater::science::air::time_to_remove;
/// use uom::si::time::minute;
/// assert!((time_to_remove(0.99, 12.0)?.get::<minute>() - 23.0).abs() < 0.5);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn time_to_remove(part: f64, changes_per_hour: f64) -> Result<Time, OutOfRange> {
    let part = within("The part removed", part, 0.0, 0.999_999, "")?;
    Ok(Time::new::<hour>(
        -(-part).ln_1p() / changes_in_range(changes_per_hour)?,
    ))
}

/// Flow of a fan that gives a room so many air changes: Q = ACH V. Choose a fan with 10 to 20 %
/// in hand for ducts and screens.
///
/// ```
/// use slackwater::science::air::fan_flow;
/// use uom::si::f64::Volume;
/// use uom::si::volume::cubic_meter;
/// use uom::si::volume_rate::cubic_meter_per_second;
/// let flow = fan_flow(Volume::new::<cubic_meter>(60.0), 12.0)?;
/// assert!((flow.get::<cubic_meter_per_second>() - 0.2).abs() < 1e-12);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A volume outside 1 to 1e6 m³, or air changes outside 0.01 to 200 an hour.
pub fn fan_flow(room: Volume, changes_per_hour: f64) -> Result<VolumeRate, OutOfRange> {
    within(
        "The room volume",
        room.get::<cubic_meter>(),
        1.0,
        1e6,
        "\u{a0}m³",
    )?;
    Ok(room * changes_in_range(changes_per_hour)? / Time::new::<hour>(1.0))
}

/// A flow of air in cubic feet a minute, as fans are sold by: 1 is 28.316846592 L/min.
///
/// ```
/// use slackwater::science::air::{cubic_feet_per_minute, in_cubic_feet_per_minute};
/// use uom::si::volume_rate::cubic_meter_per_second;
/// let flow = cubic_feet_per_minute(1.0);
/// assert!((flow.get::<cubic_meter_per_second>() - 0.0004719474).abs() < 1e-10);
/// assert!((in_cubic_feet_per_minute(flow) - 1.0).abs() < 1e-12);
/// ```
pub fn cubic_feet_per_minute(value: f64) -> VolumeRate {
    VolumeRate::new::<liter_per_minute>(value * CUBIC_FOOT_LITRES)
}

/// The cubic feet a minute of a flow of air.
pub fn in_cubic_feet_per_minute(flow: VolumeRate) -> f64 {
    flow.get::<liter_per_minute>() / CUBIC_FOOT_LITRES
}

/// Rise of oxygen in a closed room when peroxide decays away in it, as an upper bound.
///
/// No air leaves, all of the peroxide decays: rise = V_O₂/V_room (100 - 20.95) percent points.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct OxygenUpperBound(f64);

impl OxygenUpperBound {
    /// The rise, in percent points by volume.
    pub fn points(self) -> f64 {
        self.0
    }

    /// Oxygen in the room at most, percent by volume.
    pub fn percent(self) -> Ratio {
        Ratio::new::<percent>(OXYGEN_IN_AIR + self.0)
    }

    /// Whether the room may pass [`OXYGEN_ENRICHED`].
    pub fn may_feed_a_fire(self) -> bool {
        OXYGEN_IN_AIR + self.0 > OXYGEN_ENRICHED
    }
}

/// The most that oxygen in a closed room can rise when a mass of peroxide decays in it.
///
/// Range: room 1 to 1e6 m³, peroxide 0 to 10 000 kg.
///
/// ```
/// use slackwater::science::air::oxygen_rise;
/// use slackwater::science::quantity::Celsius;
/// use uom::si::f64::{Mass, Volume};
/// use uom::si::mass::kilogram;
/// use uom::si::volume::cubic_meter;
/// // 100 L of 0.5 % w/v in a sealed room of 60 m³.
/// let (room, peroxide) = (Volume::new::<cubic_meter>(60.0), Mass::new::<kilogram>(0.5));
/// let rise = oxygen_rise(peroxide, room, Celsius::new(25.0)?)?;
/// assert!((rise.points() - 0.2369).abs() < 1e-4);
/// assert!(!rise.may_feed_a_fire());
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn oxygen_rise(
    peroxide: Mass,
    room: Volume,
    air: Celsius,
) -> Result<OxygenUpperBound, OutOfRange> {
    within("The peroxide", peroxide.value, 0.0, 10_000.0, "\u{a0}kg")?;
    let room_m3 = within(
        "The room volume",
        room.get::<cubic_meter>(),
        1.0,
        1e6,
        "\u{a0}m³",
    )?;
    let oxygen_m3 = oxygen_of_decomposition(peroxide, air).get::<cubic_meter>();
    Ok(OxygenUpperBound(
        oxygen_m3 / room_m3 * (100.0 - OXYGEN_IN_AIR),
    ))
}

/// Least room in which all of a mass of peroxide may decay without passing [`OXYGEN_ENRICHED`]:
/// V = V_O₂ (100 - 20.95)/(23.5 - 20.95), nothing leaving it. Range: peroxide 0 to 10 000 kg.
///
/// ```
/// use slackwater::science::air::least_room;
/// use slackwater::science::quantity::{Celsius, grams};
/// use uom::si::volume::cubic_meter;
/// // A litre of 35 % w/w holds 395.9 g.
/// let room = least_room(grams(395.9), Celsius::new(20.0)?)?;
/// assert!((room.get::<cubic_meter>() - 4.34).abs() < 0.01);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A mass outside the range.
pub fn least_room(peroxide: Mass, air: Celsius) -> Result<Volume, OutOfRange> {
    within("The peroxide", peroxide.value, 0.0, 10_000.0, "\u{a0}kg")?;
    let oxygen = oxygen_of_decomposition(peroxide, air);
    Ok(oxygen * ((100.0 - OXYGEN_IN_AIR) / (OXYGEN_ENRICHED - OXYGEN_IN_AIR)))
}

/// What decides how long people stay out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecidedBy {
    /// The product label's re-entry time.
    Label,
    /// The law's, or the site's own rule.
    Rule,
    /// The reckoned clearing of the air, because it is the longest.
    Air,
}

/// How long people stay out of a room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StayOut {
    /// Time from the end of the work with the solution.
    pub time: Time,
    /// What decides it.
    pub by: DecidedBy,
}

/// How long people stay out: the longest of label, rule and reckoned air; none when nothing is
/// known, in which case nobody goes in on this program's word.
///
/// The reckoned time can lengthen a label's or a rule's time and never shortens it. On its own it
/// gives no leave to enter: without a label's or a rule's time the answer is none.
///
/// ```
/// use slackwater::science::air::{DecidedBy, stay_out};
/// use uom::si::f64::Time;
/// use uom::si::time::minute;
/// let min = Time::new::<minute>;
/// let wait = stay_out(Some(min(60.0)), None, Some(min(20.0))).unwrap();
/// assert_eq!((wait.time, wait.by), (min(60.0), DecidedBy::Label));
/// assert_eq!(stay_out(None, None, Some(min(20.0))), None);
/// ```
pub fn stay_out(label: Option<Time>, rule: Option<Time>, air: Option<Time>) -> Option<StayOut> {
    let label = label.map(|time| StayOut {
        time,
        by: DecidedBy::Label,
    });
    let rule = rule.map(|time| StayOut {
        time,
        by: DecidedBy::Rule,
    });
    let longer = |a: StayOut, b: StayOut| if b.time > a.time { b } else { a };
    let stated = match (label, rule) {
        (Some(a), Some(b)) => longer(a, b),
        (a, b) => a.or(b)?,
    };
    Some(match air {
        Some(time) => longer(
            stated,
            StayOut {
                time,
                by: DecidedBy::Air,
            },
        ),
        None => stated,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mg(v: f64) -> MassConcentration {
        MassConcentration::new::<milligram_per_cubic_meter>(v)
    }

    fn min(v: f64) -> Time {
        Time::new::<minute>(v)
    }

    fn room(changes: f64, mixing: f64) -> Room {
        Room::new(Volume::new::<cubic_meter>(200.0), changes, mixing).unwrap()
    }

    proptest! {
        #[test]
        fn the_room_is_at_the_limit_when_the_time_is_up(
            c0 in 2.0..500.0f64, cs in 0.0..0.9f64, changes in 0.1..60.0f64, k in 1.0..10.0f64,
        ) {
            let room = room(changes, k);
            let time = room.time_to(mg(c0), mg(cs), mg(1.0)).unwrap().unwrap();
            prop_assume!(time < min(10_080.0));
            let at = room.after(mg(c0), mg(cs), time).unwrap().get::<milligram_per_cubic_meter>();
            prop_assert!((at - 1.0).abs() < 1e-9);
        }

        /// An independent second way: small steps of the mass balance.
        #[test]
        fn the_formula_agrees_with_small_steps(
            c0 in 0.0..20.0f64, source in 0.0..200.0f64, changes in 0.5..20.0f64,
        ) {
            let room = room(changes, 1.0);
            let steady = room.steady(Mass::new::<uom::si::mass::milligram>(source), mg(0.0)).unwrap();
            let (mut c, steps) = (c0, 20_000);
            let dt = 30.0 / f64::from(steps);
            for _ in 0..steps {
                c += dt * (source - c * 200.0 * changes / 60.0) / 200.0;
            }
            let formula = room.after(mg(c0), steady, min(30.0)).unwrap();
            let scale = 1.0 + c0 + source;
            prop_assert!((formula.get::<milligram_per_cubic_meter>() - c).abs() < 1e-3 * scale);
        }

        #[test]
        fn reckoned_air_never_shortens_the_stated_time(
            label in 1.0..500.0f64, rule in 1.0..500.0f64, air in 0.0..900.0f64,
        ) {
            let wait = stay_out(Some(min(label)), Some(min(rule)), Some(min(air))).unwrap();
            prop_assert!(wait.time >= min(label) && wait.time >= min(rule) && wait.time >= min(air));
        }
    }

    #[test]
    fn clean_air_is_clear_at_once() {
        assert_eq!(
            room(6.0, 1.0).time_to(mg(0.5), mg(0.0), mg(1.4)).unwrap(),
            Some(min(0.0))
        );
    }

    #[test]
    fn a_small_store_with_much_concentrate_may_feed_a_fire() {
        // 25 L of 35 % w/w in 10 m³: 9.9 kg of peroxide.
        let (room, peroxide) = (
            Volume::new::<cubic_meter>(10.0),
            Mass::new::<uom::si::mass::kilogram>(9.9),
        );
        let rise = oxygen_rise(peroxide, room, Celsius::new(20.0).unwrap()).unwrap();
        assert!(rise.may_feed_a_fire());
    }
}
