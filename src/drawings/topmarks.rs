//! The topmarks of the stakes and the two hatchings, defined once a page and used by every drawing.

use std::fmt;

/// A hidden `<svg>` that holds the definitions. It stands once on each page with a tide line,
/// before the first of them. Two on a page would give the same names twice.
#[derive(Debug, Clone, Copy)]
pub struct Topmarks;

impl askama::filters::HtmlSafe for Topmarks {}

impl fmt::Display for Topmarks {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(MARKS)?;
        // Strokes, not patterns: a printer turns a pattern into a blurred picture.
        f.write_str("<path id=\"hatch\" class=\"hatching\" d=\"")?;
        (0..STROKES).try_for_each(|i| write!(f, "M{} 14l15-15", 8 * i))?;
        f.write_str("\"/>\n<path id=\"foul\" class=\"foul\" d=\"")?;
        (0..STROKES / 2).try_for_each(|i| write!(f, "M{} 1l8 8m0-8l-8 8", i * 17 + 1))?;
        f.write_str("\"/>\n</defs></svg>\n")
    }
}

/// Enough for a hatching, or a row of crosses, as long as the widest tide line.
const STROKES: u32 = 120;

const MARKS: &str = r##"<svg width="0" height="0" aria-hidden="true" focusable="false" class="vh"><defs>
<g id="tm-proposed" class="tm"><circle r="6"/></g>
<g id="tm-booked" class="tm"><circle r="6.5" class="ink"/></g>
<g id="tm-issued" class="tm"><path d="M-6-7H6V7H-6Z"/><path d="M-3-2.5H3M-3 2H3"/></g>
<g id="tm-underway" class="tm"><circle r="6.5"/><path class="ink" d="M0-6.5A6.5 6.5 0 0 0 0 6.5Z"/></g>
<g id="tm-held" class="tm"><path d="M-7-6H7M-7 6H7M-4-6V6M4-6V6"/></g>
<g id="tm-released" class="tm"><path class="ink" d="M0-8L7.5 6H-7.5Z"/></g>
<g id="tm-calledoff" class="tm"><path d="M-6-6L6 6M6-6L-6 6"/></g>
"##;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drawings::tide::Standing;

    #[test]
    fn every_standing_has_its_mark() {
        for standing in Standing::ALL {
            let id = format!("id=\"tm-{}\"", standing.mark());
            assert_eq!(MARKS.matches(&id).count(), 1, "{id}");
        }
    }
}
