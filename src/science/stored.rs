//! Whole-number quantities as they are stored: sums of them stay exact.
//!
//! Each has one door, `new`, which names its limits; what comes out of a row passes the same door.

use uom::si::f64::VolumeRate;
use uom::si::length::{micrometer, millimeter};
use uom::si::mass::gram;
use uom::si::time::{millisecond, minute};
use uom::si::volume::{cubic_meter, milliliter};
use uom::si::volume_rate::liter_per_minute;

use super::quantity::{Celsius, Length, Mass, OutOfRange, Time, Volume, within};

/// Declares one stored whole number: its limits, its door and its sums.
macro_rules! stored {
    ($(#[$doc:meta])* $name:ident, $what:literal, $least:literal ..= $most:literal, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(i64);

        impl $name {
            /// The least value allowed.
            pub const LEAST: i64 = $least;
            /// The greatest value allowed.
            pub const MOST: i64 = $most;

            /// The quantity of this whole number.
            ///
            /// # Errors
            /// Outside the limits, which the message names.
            pub fn new(value: i64) -> Result<Self, OutOfRange> {
                if (Self::LEAST..=Self::MOST).contains(&value) {
                    Ok(Self(value))
                } else {
                    Err(OutOfRange {
                        what: $what,
                        least: Self::LEAST as f64,
                        most: Self::MOST as f64,
                        given: value as f64,
                        unit: $unit,
                    })
                }
            }

            /// The whole number.
            pub fn get(self) -> i64 {
                self.0
            }

            /// Rounds to the nearest whole number.
            fn rounded(value: f64) -> Result<Self, OutOfRange> {
                within($what, value.round(), Self::LEAST as f64, Self::MOST as f64, $unit)
                    .map(|whole| Self(whole as i64))
            }
        }
    };
}

/// Declares the sum of two like quantities, which meets the same limits.
macro_rules! summed {
    ($name:ident) => {
        impl $name {
            /// The sum of two.
            ///
            /// # Errors
            /// Beyond the limit.
            pub fn plus(self, other: Self) -> Result<Self, OutOfRange> {
                Self::new(self.0 + other.0)
            }
        }
    };
}

stored! {
    /// A volume in whole millilitres, from nothing to 1 000 m³.
    ///
    /// ```
    /// use slackwater::science::quantity::litres;
    /// use slackwater::science::stored::Millilitres;
    /// assert_eq!(Millilitres::nearest(litres(14.0938)).unwrap().get(), 14_094);
    /// assert!(Millilitres::new(-1).is_err());
    /// ```
    Millilitres, "A volume", 0..=1_000_000_000, "\u{a0}mL"
}
stored! {
    /// A change of a volume in whole millilitres: drawn is negative, received is positive.
    MillilitreChange, "A change of volume", -1_000_000_000..=1_000_000_000, "\u{a0}mL"
}
stored! {
    /// A length in whole millimetres, from nothing to 1 km.
    Millimetres, "A length", 0..=1_000_000, "\u{a0}mm"
}
stored! {
    /// A mass in whole grams, from nothing to 1 000 t.
    Grams, "A mass", 0..=1_000_000_000, "\u{a0}g"
}
stored! {
    /// A span of time in whole minutes, from nothing to a year.
    Minutes, "A span of time", 0..=527_040, "\u{a0}min"
}
stored! {
    /// A temperature in tenths of a degree Celsius, -50 to 150 °C.
    TenthsCelsius, "A temperature in tenths of a degree", -500..=1_500, ""
}
stored! {
    /// A bore in whole micrometres: tubes are sold in parts of a millimetre.
    Micrometres, "A bore", 0..=1_000_000, "\u{a0}µm"
}
stored! {
    /// The air of a room in whole cubic metres.
    CubicMetres, "The air of a room", 1..=100_000, "\u{a0}m³"
}
stored! {
    /// A flow in whole millilitres a minute.
    MillilitresPerMinute, "A flow", 0..=1_000_000_000, "\u{a0}mL/min"
}
stored! {
    /// A share in whole thousandths.
    Permille, "A share in thousandths", 0..=1_000, ""
}
stored! {
    /// A time in whole milliseconds, from nothing to ten hours: what a clock shows of a test.
    Milliseconds, "A time", 0..=36_000_000, "\u{a0}ms"
}
stored! {
    /// The sum of the loss coefficients K of a run's fittings, in thousandths.
    FittingLosses, "The sum of fitting losses K in thousandths", 0..=300_000, ""
}
stored! {
    /// How many overflows alike stand in one bench.
    OverflowCount, "The number of overflows", 1..=20, ""
}
stored! {
    /// How often the air of a room is changed in a day.
    ChangesPerDay, "The air changes of a day", 1..=5_000, ""
}
stored! {
    /// An amount of money in hundredths of the money of the site; which money that is, the site knows.
    Hundredths, "An amount of money in hundredths", 0..=100_000_000_000, ""
}
summed!(Millilitres);
summed!(MillilitreChange);
summed!(Millimetres);
summed!(Grams);
summed!(Minutes);

impl Millilitres {
    /// The volume.
    pub fn volume(self) -> Volume {
        Volume::new::<milliliter>(self.0 as f64)
    }

    /// The whole millilitres nearest to a volume.
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(volume: Volume) -> Result<Self, OutOfRange> {
        Self::rounded(volume.get::<milliliter>())
    }

    /// What has to be added to `earlier` to come to `self`.
    pub fn since(self, earlier: Self) -> MillilitreChange {
        MillilitreChange(self.0 - earlier.0)
    }

    /// The volume after a change.
    ///
    /// # Errors
    /// When more is taken than there is, or beyond the limit.
    pub fn after(self, change: MillilitreChange) -> Result<Self, OutOfRange> {
        Self::new(self.0 + change.0)
    }
}

impl MillilitreChange {
    /// The change as a volume, negative for what was drawn.
    pub fn volume(self) -> Volume {
        Volume::new::<milliliter>(self.0 as f64)
    }

    /// The whole millilitres nearest to a signed volume.
    ///
    /// # Errors
    /// Beyond the limits.
    pub fn nearest(volume: Volume) -> Result<Self, OutOfRange> {
        Self::rounded(volume.get::<milliliter>())
    }
}

impl Millimetres {
    /// The length.
    pub fn length(self) -> Length {
        Length::new::<millimeter>(self.0 as f64)
    }

    /// The whole millimetres nearest to a length.
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(length: Length) -> Result<Self, OutOfRange> {
        Self::rounded(length.get::<millimeter>())
    }
}

impl Micrometres {
    /// The bore.
    pub fn length(self) -> Length {
        Length::new::<micrometer>(self.0 as f64)
    }

    /// The whole micrometres nearest to a bore.
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(length: Length) -> Result<Self, OutOfRange> {
        Self::rounded(length.get::<micrometer>())
    }
}

impl CubicMetres {
    /// The volume.
    pub fn volume(self) -> Volume {
        Volume::new::<cubic_meter>(self.0 as f64)
    }

    /// The whole cubic metres nearest to a volume.
    ///
    /// # Errors
    /// Less than one or beyond the limit.
    pub fn nearest(volume: Volume) -> Result<Self, OutOfRange> {
        Self::rounded(volume.get::<cubic_meter>())
    }
}

impl MillilitresPerMinute {
    /// The flow.
    pub fn flow(self) -> VolumeRate {
        VolumeRate::new::<liter_per_minute>(self.0 as f64 / 1000.0)
    }

    /// The whole millilitres a minute nearest to a flow.
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(flow: VolumeRate) -> Result<Self, OutOfRange> {
        Self::rounded(flow.get::<liter_per_minute>() * 1000.0)
    }
}

impl Permille {
    /// The share, from 0 to 1.
    pub fn share(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// The thousandths nearest to a share.
    ///
    /// # Errors
    /// Below nothing or above the whole.
    pub fn nearest(share: f64) -> Result<Self, OutOfRange> {
        Self::rounded(share * 1000.0)
    }
}

impl Milliseconds {
    /// The time.
    pub fn time(self) -> Time {
        Time::new::<millisecond>(self.0 as f64)
    }

    /// The whole milliseconds nearest to a time.
    ///
    /// # Errors
    /// Below nothing or beyond ten hours.
    pub fn nearest(time: Time) -> Result<Self, OutOfRange> {
        Self::rounded(time.get::<millisecond>())
    }
}

impl FittingLosses {
    /// The sum K, without a unit.
    pub fn k(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// The thousandths nearest to a sum of K.
    ///
    /// # Errors
    /// Below nothing or above 300.
    pub fn nearest(k: f64) -> Result<Self, OutOfRange> {
        Self::rounded(k * 1000.0)
    }
}

impl OverflowCount {
    /// The count.
    pub fn count(self) -> u32 {
        self.0.unsigned_abs() as u32
    }

    /// The whole count nearest to a number.
    ///
    /// # Errors
    /// Less than one or more than twenty.
    pub fn nearest(count: f64) -> Result<Self, OutOfRange> {
        Self::rounded(count)
    }
}

impl ChangesPerDay {
    /// The whole changes nearest to a number of them.
    ///
    /// # Errors
    /// Less than one a day or beyond the limit.
    pub fn nearest(changes: f64) -> Result<Self, OutOfRange> {
        Self::rounded(changes)
    }
}

impl Grams {
    /// The mass.
    pub fn mass(self) -> Mass {
        Mass::new::<gram>(self.0 as f64)
    }

    /// The whole grams nearest to a mass.
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(mass: Mass) -> Result<Self, OutOfRange> {
        Self::rounded(mass.get::<gram>())
    }
}

impl Minutes {
    /// The span.
    pub fn time(self) -> Time {
        Time::new::<minute>(self.0 as f64)
    }

    /// The whole minutes nearest to a span.
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(time: Time) -> Result<Self, OutOfRange> {
        Self::rounded(time.get::<minute>())
    }
}

impl Hundredths {
    /// The whole hundredths nearest to an amount of money.
    ///
    /// ```
    /// use slackwater::science::stored::Hundredths;
    /// assert_eq!(Hundredths::nearest(4.2).unwrap().get(), 420);
    /// assert!(Hundredths::nearest(-1.0).is_err());
    /// ```
    ///
    /// # Errors
    /// Below nothing or beyond the limit.
    pub fn nearest(amount: f64) -> Result<Self, OutOfRange> {
        Self::rounded(amount * 100.0)
    }

    /// The amount with two decimals, as '4.20'.
    ///
    /// ```
    /// use slackwater::science::stored::Hundredths;
    /// assert_eq!(Hundredths::new(420).unwrap().words(), "4.20");
    /// assert_eq!(Hundredths::new(5).unwrap().words(), "0.05");
    /// ```
    pub fn words(self) -> String {
        format!("{}.{:02}", self.0 / 100, self.0 % 100)
    }
}

impl TenthsCelsius {
    /// The temperature.
    ///
    /// # Errors
    /// None in practice: both doors have the same limits.
    pub fn celsius(self) -> Result<Celsius, OutOfRange> {
        Celsius::new(self.0 as f64 / 10.0)
    }

    /// The tenths nearest to a temperature.
    ///
    /// # Errors
    /// None in practice: both doors have the same limits.
    pub fn nearest(temperature: Celsius) -> Result<Self, OutOfRange> {
        Self::rounded(temperature.degrees() * 10.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn limits_are_inclusive() {
        assert!(Millilitres::new(0).is_ok() && Millilitres::new(Millilitres::MOST).is_ok());
        assert!(Millilitres::new(Millilitres::MOST + 1).is_err());
        assert!(Millimetres::new(-1).is_err() && Grams::new(-1).is_err());
        let refused = Minutes::new(i64::MAX).unwrap_err().to_string();
        assert!(refused.contains("from 0 to 527040"), "{refused}");
    }

    #[test]
    fn nothing_is_drawn_from_an_empty_can() {
        let can = Millilitres::new(500).unwrap();
        assert!(can.after(MillilitreChange::new(-501).unwrap()).is_err());
        assert_eq!(
            can.after(MillilitreChange::new(-500).unwrap())
                .unwrap()
                .get(),
            0
        );
    }

    proptest! {
        #[test]
        fn whole_numbers_come_back(ml in 0..=Millilitres::MOST, mm in 0..=Millimetres::MOST,
                                   g in 0..=Grams::MOST, min in 0..=Minutes::MOST,
                                   tenths in TenthsCelsius::LEAST..=TenthsCelsius::MOST) {
            let volume = Millilitres::new(ml).unwrap();
            prop_assert_eq!(Millilitres::nearest(volume.volume()).unwrap(), volume);
            let length = Millimetres::new(mm).unwrap();
            prop_assert_eq!(Millimetres::nearest(length.length()).unwrap(), length);
            let mass = Grams::new(g).unwrap();
            prop_assert_eq!(Grams::nearest(mass.mass()).unwrap(), mass);
            let bore = Micrometres::new(mm).unwrap();
            prop_assert_eq!(Micrometres::nearest(bore.length()).unwrap(), bore);
            let flow = MillilitresPerMinute::new(ml).unwrap();
            prop_assert_eq!(MillilitresPerMinute::nearest(flow.flow()).unwrap(), flow);
            let share = Permille::new(ml % 1_001).unwrap();
            prop_assert_eq!(Permille::nearest(share.share()).unwrap(), share);
            let time = Milliseconds::new(ml % (Milliseconds::MOST + 1)).unwrap();
            prop_assert_eq!(Milliseconds::nearest(time.time()).unwrap(), time);
            let losses = FittingLosses::new(ml % (FittingLosses::MOST + 1)).unwrap();
            prop_assert_eq!(FittingLosses::nearest(losses.k()).unwrap(), losses);
            let air = CubicMetres::new(1 + mm % 100_000).unwrap();
            prop_assert_eq!(CubicMetres::nearest(air.volume()).unwrap(), air);
            let span = Minutes::new(min).unwrap();
            prop_assert_eq!(Minutes::nearest(span.time()).unwrap(), span);
            let temperature = TenthsCelsius::new(tenths).unwrap();
            prop_assert_eq!(TenthsCelsius::nearest(temperature.celsius().unwrap()).unwrap(), temperature);
        }

        #[test]
        fn a_change_leads_from_one_volume_to_the_other(a in 0..=Millilitres::MOST, b in 0..=Millilitres::MOST) {
            let (a, b) = (Millilitres::new(a).unwrap(), Millilitres::new(b).unwrap());
            prop_assert_eq!(a.after(b.since(a)).unwrap(), b);
        }
    }
}
