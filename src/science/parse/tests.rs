use super::*;
use crate::science::quantity::in_litres;
use proptest::prelude::*;

#[test]
fn a_number_is_read_in_one_way_or_refused() {
    for (text, expect) in [
        ("0,125", 0.125),
        ("1234,567", 1234.567),
        (" 7 ", 7.0),
        ("-4", -4.0),
        ("−4,5", -4.5),
        ("+3", 3.0),
        (".5", 0.5),
        ("5.", 5.0),
        ("1\u{a0}240", 1240.0),
        ("12 345 678.5", 12_345_678.5),
        ("1\u{202f}240,5", 1240.5),
        ("007", 7.0),
        ("-0", 0.0),
    ] {
        assert_eq!(decimal(text).unwrap(), expect, "{text}");
    }
    for text in [
        "", " ", "1,234", "12,345", "999,000", "1.234,5", "1,234.5", "1.2.3", "1,2,3", "1 2",
        "12 34", "1234 567", "1 2345", "nan", "inf", "1e3", "0x10", "½", "1/2", "--1", "1-2", ".",
        ",", "-", "١٢", "1’234",
    ] {
        assert!(decimal(text).is_err(), "{text}");
    }
}

#[test]
fn volumes_name_their_unit() {
    let read = |text: &str| volume(text, None).map(in_litres);
    for (text, expect) in [
        ("180 L", 180.0),
        ("180l", 180.0),
        ("250 mL", 0.25),
        ("1.5 m3", 1500.0),
        ("2 m³", 2000.0),
        ("1 imp gal", 4.54609),
        ("1 US gal.", 3.785411784),
        ("8 us fl oz", 8.0 * 0.0295735295625),
        ("1 Imp. fl. oz.", 0.0284130625),
        ("3 litres", 3.0),
    ] {
        assert!((read(text).unwrap() - expect).abs() < 1e-12, "{text}");
    }
    assert_eq!(read("4 gallons"), Err(ParseError::BareGallon));
    assert_eq!(read("4 oz"), Err(ParseError::BareFluidOunce));
    assert_eq!(
        volume("4 gal", Some(VolumeUnit::UsGallon)),
        Err(ParseError::BareGallon)
    );
    for text in [
        "180",
        "180 kg",
        "-1 L",
        "1000001 L",
        "L",
        "9999999999999999999999999999 L",
    ] {
        assert!(read(text).is_err(), "{text}");
    }
    assert!(read("1000000 L").is_ok() && read("0 L").is_ok());
    let refused = read("-1 L").unwrap_err().to_string();
    assert_eq!(
        refused,
        "A volume must lie from 0 to 1000000\u{a0}L, and -1\u{a0}L does not"
    );
}

#[test]
fn strengths_name_their_basis() {
    for (text, value, basis) in [
        ("35 % w/w", 35.0, Basis::PercentWw),
        ("35% (w/w)", 35.0, Basis::PercentWw),
        ("3 % W/V", 3.0, Basis::PercentWv),
        ("130 vol", 130.0, Basis::VolumeStrength),
        ("10 volumes", 10.0, Basis::VolumeStrength),
        ("30 g/L", 30.0, Basis::GramsPerLitre),
        ("0,5 mg/l", 0.5, Basis::MilligramsPerLitre),
        ("27.5 percent by weight", 27.5, Basis::PercentWw),
        ("6 per cent w/v", 6.0, Basis::PercentWv),
    ] {
        let read = strength(text, None).unwrap();
        assert_eq!((read.value(), read.basis()), (value, basis), "{text}");
    }
    assert_eq!(
        strength("3 %", Some(Basis::PercentWv)).unwrap().basis(),
        Basis::PercentWv
    );
    assert!(matches!(
        strength("3 %", Some(Basis::GramsPerLitre)),
        Err(ParseError::BasisMissing { .. })
    ));
    assert_eq!(strength("70 vol%", None), Err(ParseError::VolumeByVolume));
    for text in [
        "35",
        "% w/w",
        "101 % w/w",
        "-1 g/L",
        "35 % abv",
        "2000000 ppm",
    ] {
        assert!(strength(text, None).is_err(), "{text}");
    }
}

#[test]
fn temperatures_and_lengths() {
    assert_eq!(temperature("-5 C", None).unwrap().degrees(), -5.0);
    assert_eq!(
        temperature("20", Some(TemperatureUnit::Celsius))
            .unwrap()
            .degrees(),
        20.0
    );
    assert!(temperature("20 °", Some(TemperatureUnit::Celsius)).is_err());
    assert!(temperature("20 K", None).is_err() && temperature("151 C", None).is_err());
    let apart = length("12 in", None).unwrap() - length("1 ft", None).unwrap();
    assert!(apart.value.abs() < 1e-12);
    assert!(length("100001 m", None).is_err());
    assert!(
        (crate::science::quantity::in_grams(mass("1 lb", None).unwrap()) - 453.59237).abs() < 1e-9
    );
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,80}") {
        let _ = decimal(&text);
        let _ = volume(&text, Some(VolumeUnit::Litre));
        let _ = length(&text, None);
        let _ = mass(&text, None);
        let _ = temperature(&text, None);
        let _ = strength(&text, None);
    }

    #[test]
    fn near_numbers_never_panic_and_never_lie(text in "[-+]?[0-9 .,\u{a0}]{0,12}( ?(L|mL|gal|%|% w/w))?") {
        if let Ok(volume) = volume(&text, None) {
            let litres = in_litres(volume);
            prop_assert!((0.0..=MOST_LITRES * (1.0 + 1e-12)).contains(&litres));
        }
        if let Ok(strength) = strength(&text, None) {
            prop_assert!((0.0..=100.0).contains(&strength.value()));
        }
    }

    #[test]
    fn plain_decimals_come_back(thousandths in 0..=999_999_999i64) {
        let number = thousandths as f64 / 1000.0;
        let text = format!("{number}");
        prop_assert_eq!(decimal(&text).unwrap(), number);
    }
}
