//! The number under which a solution travels.

use super::quantity::MassFraction;

/// The number that the UN list of dangerous goods gives a solution: UN2984 from 8 to under 20 %,
/// UN2014 from 20 % up to the border, UN2015 above it. None below 8 %, which is from memory.
///
/// The border is 52 or 60 % w/w, see [`Question::Transport`](super::sources::Question::Transport).
/// Source: medical management guidelines of the US ATSDR and a letter of the US DOT, both seen. Range: 0 to 100 % w/w.
///
/// ```
/// use slackwater::science::quantity::MassFraction;
/// use slackwater::science::transport::un_number;
/// let of = |percent, border| un_number(MassFraction::from_percent(percent).unwrap(), border);
/// assert_eq!((of(3.0, 60.0), of(8.0, 60.0)), (None, Some("UN2984")));
/// assert_eq!((of(35.0, 60.0), of(60.0, 60.0)), (Some("UN2014"), Some("UN2014")));
/// assert_eq!((of(55.0, 60.0), of(55.0, 52.0)), (Some("UN2014"), Some("UN2015")));
/// ```
pub fn un_number(strength: MassFraction, border_percent: f64) -> Option<&'static str> {
    match strength.percent() {
        w if w < 8.0 => None,
        w if w < 20.0 => Some("UN2984"),
        w if w <= border_percent => Some("UN2014"),
        _ => Some("UN2015"),
    }
}
