//! A PIN: the digits with which somebody signs on a shared tablet. It opens nothing else.
//!
//! Length, refusal of common ones and the limit of ten wrong tries in a row follow what NIST
//! SP 800-63B-4 says of activation secrets (section 3.2.10): at least 4 characters, better 6; a list of
//! common ones that are refused; no more than 10 wrong tries, then another way of signing in. There the
//! secret never leaves the person's own device; here the server checks it, and the tablet that a
//! coordinator set up stands for the device. That is weaker, so a PIN signs steps and nothing else.

use chrono::TimeDelta;

use crate::clock::Moment;

/// A PIN as typed; it is never shown, logged or stored.
#[derive(Clone)]
pub struct Pin(String);

impl std::fmt::Debug for Pin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Pin(not shown)")
    }
}

impl Pin {
    pub const SHORTEST: usize = 4;
    pub const LONGEST: usize = 8;

    /// 4 to 8 digits that are not among the first that anybody would try.
    ///
    /// ```
    /// use slackwater::crew::pin::Pin;
    /// assert!(Pin::parse("738204").is_ok());
    /// assert!(Pin::parse("1234").is_err());
    /// assert!(Pin::parse("73 82").is_err());
    /// ```
    pub fn parse(typed: &str) -> Result<Self, String> {
        let typed = typed.trim();
        if !typed.bytes().all(|byte| byte.is_ascii_digit())
            || !(Self::SHORTEST..=Self::LONGEST).contains(&typed.len())
        {
            return Err(format!(
                "Use {} to {} digits and nothing else; six are better than four.",
                Self::SHORTEST,
                Self::LONGEST
            ));
        }
        match common(typed) {
            Some(why) => Err(format!(
                "This is one of the first that anybody tries: {why}. Choose another."
            )),
            None => Ok(Self(typed.to_owned())),
        }
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Ways across the keys of a telephone that fingers find by themselves (common practice, no source).
const ACROSS_THE_KEYS: &[&str] = &[
    "2580",
    "0852",
    "1470",
    "0741",
    "3690",
    "0963",
    "147258",
    "258369",
    "159357",
    "1593",
    "7531",
    "1379",
    "9731",
    "147369",
    "147258369",
];

/// Why these digits are refused, if they are.
fn common(digits: &str) -> Option<&'static str> {
    let values: Vec<i16> = digits.bytes().map(|byte| i16::from(byte - b'0')).collect();
    let steps = |by: i16| {
        values
            .windows(2)
            .all(|pair| matches!(pair, [a, b] if (b - a - by).rem_euclid(10) == 0))
    };
    let repeats = |length: usize| {
        digits.len().is_multiple_of(length)
            && digits
                .as_bytes()
                .chunks(length)
                .all(|chunk| digits.as_bytes().starts_with(chunk))
    };
    if steps(0) {
        Some("one digit over and over")
    } else if steps(1) || steps(-1) {
        Some("digits in a row")
    } else if (2..=digits.len() / 2).any(repeats) {
        Some("the same digits twice")
    } else if digits.len() == 4 && (digits.starts_with("19") || digits.starts_with("20")) {
        Some("a year")
    } else if ACROSS_THE_KEYS.contains(&digits) {
        Some("a way across the keys")
    } else {
        None
    }
}

/// Whether a PIN can be tried now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    Open,
    /// After five wrong tries in a row it rests.
    RestsUntil(Moment),
    /// After ten it is of no use until a lead unlocks it or its owner sets another.
    Locked,
}

impl Standing {
    /// Wrong tries in a row after which it rests for [`Self::REST`].
    pub const RESTS_AFTER: i64 = 5;
    pub const REST: TimeDelta = TimeDelta::minutes(30);
    /// Wrong tries in a row after which it is locked.
    pub const LOCKED_AFTER: i64 = 10;

    /// From the wrong tries in a row and the last of them.
    pub fn of(failures: i64, failed_at: Option<Moment>, now: Moment) -> Self {
        if failures >= Self::LOCKED_AFTER {
            return Self::Locked;
        }
        match failed_at.map(|at| at.plus(Self::REST)) {
            Some(until) if failures == Self::RESTS_AFTER && now < until => Self::RestsUntil(until),
            _ => Self::Open,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pin_is_four_to_eight_digits() {
        for wrong in ["", "738", "738204915", "73a4", "73 8", "٧٣٨٢", "-738"] {
            assert!(
                Pin::parse(wrong).unwrap_err().contains("4 to 8 digits"),
                "{wrong}"
            );
        }
        assert_eq!(Pin::parse(" 7382 ").unwrap().as_str(), "7382");
        assert_eq!(Pin::parse("73820491").unwrap().as_str(), "73820491");
        assert_eq!(
            format!("{:?}", Pin::parse("7382").unwrap()),
            "Pin(not shown)"
        );
    }

    #[test]
    fn what_anybody_tries_first_is_refused_and_most_are_not() {
        for common in [
            "0000", "111111", "1234", "123456", "4321", "7890", "8901", "1212", "696969",
            "12341234", "123123", "1984", "2027", "2580", "147258",
        ] {
            let why = Pin::parse(common).unwrap_err();
            assert!(why.contains("anybody tries"), "{common}: {why}");
        }
        let taken = (0..10_000)
            .filter(|n| Pin::parse(&format!("{n:04}")).is_ok())
            .count();
        assert!(
            taken > 9_600,
            "only {taken} of 10 000 are left to choose from"
        );
    }

    #[test]
    fn five_wrong_tries_give_a_rest_and_ten_lock() {
        let now: Moment = "2027-03-04T08:00:00Z".parse().unwrap();
        let of = |failures, at| Standing::of(failures, Some(at), now);
        assert_eq!(Standing::of(0, None, now), Standing::Open);
        assert_eq!(of(4, now), Standing::Open);
        let until = now.plus(TimeDelta::minutes(30));
        assert_eq!(of(5, now), Standing::RestsUntil(until));
        assert_eq!(of(5, now.plus(TimeDelta::minutes(-30))), Standing::Open);
        assert_eq!(of(6, now), Standing::Open);
        assert_eq!(of(10, now.plus(TimeDelta::days(-90))), Standing::Locked);
    }
}
