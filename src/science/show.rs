//! Showing quantities: sensible figures, no-break spaces before units and between thousands.

use super::quantity::{Celsius, Length, Mass, Time, Volume, in_grams, in_millimetres};
use super::strength::Strength;
use super::units::{LengthUnit, MassUnit, TemperatureUnit, Units, VolumeUnit};
use uom::si::time::second;

const GAP: char = '\u{a0}';

/// A number with a fixed count of decimals and parted thousands.
///
/// ```
/// use slackwater::science::show;
/// assert_eq!(show::fixed(5580.0, 0), "5\u{a0}580");
/// assert_eq!(show::fixed(-0.004, 2), "0.00");
/// ```
pub fn fixed(number: f64, decimals: usize) -> String {
    let text = format!("{:.decimals$}", number.abs());
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let mut shown = String::new();
    if number < 0.0 && text.chars().any(|c| c.is_ascii_digit() && c != '0') {
        shown.push('−');
    }
    for (place, digit) in whole.chars().enumerate() {
        if place > 0 && (whole.len() - place).is_multiple_of(3) {
            shown.push(GAP);
        }
        shown.push(digit);
    }
    shown.push_str(rest);
    shown
}

/// A number with at most `figures` significant figures and no trailing zeros after the point.
/// Figures before the point are never rounded away.
///
/// ```
/// use slackwater::science::show;
/// assert_eq!(show::figures(14.0938, 4), "14.09");
/// assert_eq!(show::figures(180.0, 4), "180");
/// assert_eq!(show::figures(0.0123456, 3), "0.0123");
/// assert_eq!(show::figures(12345.6, 4), "12\u{a0}346");
/// ```
pub fn figures(number: f64, figures: usize) -> String {
    if number == 0.0 || !number.is_finite() {
        return fixed(if number.is_finite() { 0.0 } else { number }, 0);
    }
    let magnitude = number.abs().log10().floor();
    let decimals = (figures as f64 - 1.0 - magnitude).clamp(0.0, 9.0) as usize;
    let text = fixed(number, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A volume with four significant figures in the reader's units.
///
/// ```
/// use slackwater::science::quantity::litres;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::volume(litres(14.0938), Units::Metric), "14.09\u{a0}L");
/// assert_eq!(show::volume(litres(0.25), Units::Metric), "250\u{a0}mL");
/// assert_eq!(show::volume(litres(186.0), Units::Us), "49.14\u{a0}US\u{a0}gal");
/// ```
pub fn volume(volume: Volume, units: Units) -> String {
    let unit = volume_unit(volume, units);
    format!("{}{GAP}{}", figures(unit.count(volume), 4), unit.symbol())
}

/// A volume to pour. Beside gallons and ounces stand litres, because either may be on the jug.
///
/// ```
/// use slackwater::science::quantity::litres;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::pour(litres(2.0), Units::Metric), "2\u{a0}L");
/// assert_eq!(show::pour(litres(0.946), Units::Us), "32\u{a0}US\u{a0}fl\u{a0}oz (946\u{a0}mL)");
/// ```
pub fn pour(pour: Volume, units: Units) -> String {
    let metric = volume(pour, Units::Metric);
    if units == Units::Metric {
        return metric;
    }
    let unit = volume_unit(pour, units);
    format!(
        "{}{GAP}{} ({metric})",
        figures(unit.count(pour), 3),
        unit.symbol()
    )
}

/// A volume in the reader's large unit with a fixed count of decimals, for columns and sums.
///
/// ```
/// use slackwater::science::quantity::litres;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::volume_fixed(litres(62.0), Units::Metric, 1), "62.0\u{a0}L");
/// ```
pub fn volume_fixed(volume: Volume, units: Units, decimals: usize) -> String {
    let unit = large_volume_unit(units);
    format!(
        "{}{GAP}{}",
        fixed(unit.count(volume), decimals),
        unit.symbol()
    )
}

/// The unit in which volumes of a system stand in columns.
///
/// ```
/// use slackwater::science::show;
/// use slackwater::science::units::{Units, VolumeUnit};
/// assert_eq!(show::large_volume_unit(Units::Us), VolumeUnit::UsGallon);
/// ```
pub fn large_volume_unit(units: Units) -> VolumeUnit {
    match units {
        Units::Metric => VolumeUnit::Litre,
        Units::Us => VolumeUnit::UsGallon,
        Units::Imperial => VolumeUnit::ImperialGallon,
    }
}

fn volume_unit(volume: Volume, units: Units) -> VolumeUnit {
    let large = large_volume_unit(units);
    if volume.value == 0.0 || large.count(volume).abs() >= 0.999_95 {
        return large;
    }
    match units {
        Units::Metric => VolumeUnit::Millilitre,
        Units::Us => VolumeUnit::UsFluidOunce,
        Units::Imperial => VolumeUnit::ImperialFluidOunce,
    }
}

/// A time as a clock shows it: seconds below two minutes, then minutes and seconds, hours and minutes.
///
/// ```
/// use slackwater::science::quantity::Time;
/// use slackwater::science::show;
/// use uom::si::time::second;
/// assert_eq!(show::time(Time::new::<second>(47.6)), "48\u{a0}s");
/// assert_eq!(show::time(Time::new::<second>(340.0)), "5\u{a0}min 40\u{a0}s");
/// assert_eq!(show::time(Time::new::<second>(7_290.0)), "2\u{a0}h 2\u{a0}min");
/// ```
pub fn time(time: Time) -> String {
    let seconds = time.get::<second>().round();
    if seconds < 120.0 {
        format!("{}{GAP}s", fixed(seconds, 0))
    } else if seconds < 3600.0 {
        let minutes = (seconds / 60.0).floor();
        format!("{minutes}{GAP}min {}{GAP}s", seconds - minutes * 60.0)
    } else {
        let minutes = (seconds / 60.0).round();
        let hours = (minutes / 60.0).floor();
        format!("{hours}{GAP}h {}{GAP}min", minutes - hours * 60.0)
    }
}

/// A length: millimetres below 10 m, else metres; inches below 10 ft, else feet.
///
/// ```
/// use slackwater::science::quantity::millimetres;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::length(millimetres(1240.0), Units::Metric), "1\u{a0}240\u{a0}mm");
/// assert_eq!(show::length(millimetres(30.0), Units::Us), "1.18\u{a0}in");
/// ```
pub fn length(length: Length, units: Units) -> String {
    let mm = in_millimetres(length);
    let unit = match units {
        Units::Metric if mm.abs() < 10_000.0 => {
            return format!("{}{GAP}mm", trimmed(mm, 1));
        }
        Units::Metric => LengthUnit::Metre,
        Units::Us | Units::Imperial if mm.abs() < 3_048.0 => LengthUnit::Inch,
        Units::Us | Units::Imperial => LengthUnit::Foot,
    };
    format!("{}{GAP}{}", trimmed(unit.count(length), 2), unit.symbol())
}

fn trimmed(number: f64, decimals: usize) -> String {
    let text = fixed(number, decimals);
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// A mass with four significant figures: grams below 10 kg, else kilograms; ounces below 1 lb,
/// else pounds.
///
/// ```
/// use slackwater::science::quantity::grams;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::mass(grams(5580.0), Units::Metric), "5\u{a0}580\u{a0}g");
/// ```
pub fn mass(mass: Mass, units: Units) -> String {
    let g = in_grams(mass).abs();
    let unit = match units {
        Units::Metric if g < 9_999.5 => MassUnit::Gram,
        Units::Metric => MassUnit::Kilogram,
        Units::Us | Units::Imperial if g < MassUnit::Pound.row().factor => MassUnit::Ounce,
        Units::Us | Units::Imperial => MassUnit::Pound,
    };
    format!("{}{GAP}{}", figures(unit.count(mass), 4), unit.symbol())
}

/// A temperature to a tenth of a degree. British readers of imperial gallons read °C.
///
/// ```
/// use slackwater::science::quantity::Celsius;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::temperature(Celsius::new(20.0).unwrap(), Units::Metric), "20\u{a0}°C");
/// assert_eq!(show::temperature(Celsius::new(20.0).unwrap(), Units::Us), "68\u{a0}°F");
/// ```
pub fn temperature(temperature: Celsius, units: Units) -> String {
    let unit = temperature_unit(units);
    format!(
        "{}{GAP}{}",
        trimmed(unit.from_celsius(temperature.degrees()), 1),
        unit.symbol()
    )
}

/// The unit that temperatures are shown and typed in.
///
/// ```
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::temperature_unit(Units::Us).symbol(), "°F");
/// ```
pub fn temperature_unit(units: Units) -> TemperatureUnit {
    match units {
        Units::Us => TemperatureUnit::Fahrenheit,
        Units::Metric | Units::Imperial => TemperatureUnit::Celsius,
    }
}

/// A strength with four significant figures and its basis. Densities are known to 0.2 %, so more
/// figures would claim what nobody knows.
///
/// ```
/// use slackwater::science::show;
/// use slackwater::science::strength::{Basis, Strength};
/// let stock = Strength::new(39.593, Basis::PercentWv).unwrap();
/// assert_eq!(show::strength(stock), "39.59\u{a0}%\u{a0}w/v");
/// ```
pub fn strength(strength: Strength) -> String {
    format!(
        "{}{GAP}{}",
        figures(strength.value(), 4),
        strength.basis().symbol()
    )
}

/// Two numbers of a range, rounded outwards so that the range shown holds the range meant, with the
/// decimals that tell its ends apart; one number where the ends are the same.
///
/// ```
/// use slackwater::science::show;
/// assert_eq!(show::between(5.61, 6.28), "between 5.6 and 6.3");
/// assert_eq!(show::between(187.3, 201.9), "between 187 and 202");
/// assert_eq!(show::between(3.0, 3.0), "3");
/// ```
pub fn between(least: f64, most: f64) -> String {
    let wide = most - least;
    if wide <= 1e-9 * most.abs() || !wide.is_finite() {
        return figures(most, 4);
    }
    // A step of the last decimal is at most a fifth of the range.
    let decimals = (-(wide / 5.0).log10().floor()).clamp(0.0, 9.0) as usize;
    let step = 10f64.powi(-(decimals as i32));
    let least = (least / step + 1e-9).floor() * step;
    let most = (most / step - 1e-9).ceil() * step;
    format!(
        "between {} and {}",
        fixed(least, decimals),
        fixed(most, decimals)
    )
}

/// A range of strengths on the basis of the second: 'between 5.6 and 6.3 % w/v'.
///
/// ```
/// use slackwater::science::show;
/// use slackwater::science::strength::{Basis, Strength};
/// let mg = |value| Strength::new(value, Basis::MilligramsPerLitre).unwrap();
/// assert_eq!(show::between_strengths(mg(150.0), mg(250.0)), "between 150 and 250\u{a0}mg/L");
/// ```
pub fn between_strengths(weakest: Strength, strongest: Strength) -> String {
    let words = between(weakest.value(), strongest.value());
    format!("{words}{GAP}{}", strongest.basis().symbol())
}

/// A range of volumes in the reader's large unit.
///
/// ```
/// use slackwater::science::quantity::litres;
/// use slackwater::science::{show, units::Units};
/// let words = show::between_volumes(litres(187.3), litres(201.9), Units::Metric);
/// assert_eq!(words, "between 187 and 202\u{a0}L");
/// ```
pub fn between_volumes(least: Volume, most: Volume, units: Units) -> String {
    let unit = large_volume_unit(units);
    let words = between(unit.count(least), unit.count(most));
    format!("{words}{GAP}{}", unit.symbol())
}

/// How far a volume may be off either way, in the reader's large unit: '± 7 L'. Two figures, rounded
/// up.
///
/// ```
/// use slackwater::science::quantity::litres;
/// use slackwater::science::{show, units::Units};
/// assert_eq!(show::give_or_take(litres(7.21), Units::Metric), "±\u{a0}7.3");
/// assert_eq!(show::give_or_take(litres(0.004), Units::Metric), "±\u{a0}0.1");
/// ```
pub fn give_or_take(half: Volume, units: Units) -> String {
    let count = large_volume_unit(units).count(half);
    let decimals = usize::from(count < 99.5);
    let step = if decimals == 1 { 0.1 } else { 1.0 };
    format!(
        "±{GAP}{}",
        fixed(((count / step) - 1e-9).ceil() * step, decimals)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::{grams, in_litres, litres, millimetres};
    use crate::science::{parse, strength::Basis};
    use proptest::prelude::*;

    #[test]
    fn units_turn_over_without_a_jump() {
        assert_eq!(volume(litres(0.99999), Units::Metric), "1\u{a0}L");
        assert_eq!(volume(litres(0.9994), Units::Metric), "999.4\u{a0}mL");
        assert_eq!(volume(litres(0.0), Units::Metric), "0\u{a0}L");
        assert_eq!(
            volume(litres(1.0), Units::Imperial),
            "35.2\u{a0}imp\u{a0}fl\u{a0}oz"
        );
        assert_eq!(
            length(millimetres(4700.0), Units::Metric),
            "4\u{a0}700\u{a0}mm"
        );
        assert_eq!(length(millimetres(12_500.0), Units::Metric), "12.5\u{a0}m");
        assert_eq!(length(millimetres(12_192.0), Units::Us), "40\u{a0}ft");
        assert_eq!(mass(grams(17_143.0), Units::Metric), "17.14\u{a0}kg");
        assert_eq!(fixed(-1234.5, 1), "−1\u{a0}234.5");
        assert_eq!(fixed(999.96, 1), "1\u{a0}000.0");
    }

    proptest! {
        #[test]
        fn what_is_shown_can_be_typed_back(ml in 1..=50_000_000i64, units in 0..3usize) {
            let shown = volume(litres(ml as f64 / 1000.0), Units::ALL[units]);
            let back = in_litres(parse::volume(&shown, None).unwrap()) * 1000.0;
            prop_assert!((back - ml as f64).abs() <= ml as f64 * 0.000_51 + 1e-9, "{shown}");
        }

        #[test]
        fn strengths_can_be_typed_back(share in 0.001..1.0f64, basis in 0..5usize) {
            let basis = Basis::ALL[basis];
            let first = Strength::new(share * basis.most(), basis).unwrap();
            let back = parse::strength(&strength(first), None).unwrap();
            prop_assert_eq!(back.basis(), basis);
            prop_assert!((back.value() - first.value()).abs() <= first.value() * 0.000_51);
        }

        #[test]
        fn lengths_and_temperatures_can_be_typed_back(mm in 0..=1_000_000i64, tenths in -500..=1500i64, units in 0..3usize) {
            let units = Units::ALL[units];
            let first = millimetres(mm as f64);
            let back = parse::length(&length(first, units), None).unwrap();
            prop_assert!((in_millimetres(back) - mm as f64).abs() <= 5.001);
            let first = Celsius::new(tenths as f64 / 10.0).unwrap();
            let back = parse::temperature(&temperature(first, units), None).unwrap();
            prop_assert!((back.degrees() - first.degrees()).abs() <= 0.051);
        }
    }
}
