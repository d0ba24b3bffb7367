//! What every drawing needs to write markup: escaped text and short numbers.

use std::fmt;

/// Text from outside, safe inside an element and inside a quoted attribute.
pub(super) struct Text<'a>(pub &'a str);

impl fmt::Display for Text<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for c in self.0.chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                '\'' => f.write_str("&#39;")?,
                // Control characters are not allowed in XML; a line break in a name is a space.
                c if c.is_control() => f.write_str(" ")?,
                c => write!(f, "{c}")?,
            }
        }
        Ok(())
    }
}

/// A coordinate to a hundredth of a pixel: finer is invisible and only makes the page longer.
pub(super) fn n(v: f64) -> f64 {
    // Adding zero turns -0 into 0, which would be written with its sign.
    (v * 100.0).round() / 100.0 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_leave_its_element_or_attribute() {
        let name = r#"<b a="1" c='2'>&"#;
        assert_eq!(
            Text(name).to_string(),
            "&lt;b a=&quot;1&quot; c=&#39;2&#39;&gt;&amp;"
        );
        assert_eq!(Text("a\nb\u{0}").to_string(), "a b ");
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!(n(16.285_714).to_string(), "16.29");
        assert_eq!(n(-0.001).to_string(), "0");
        assert_eq!(n(60.0).to_string(), "60");
    }
}
