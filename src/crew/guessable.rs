//! Passwords that anybody would try: what NIST SP 800-63B-4, section 3.1.1.2, calls commonly used or
//! expected. The whole of a password is compared, never a part of it: 'password' in a sentence is
//! nobody's business, 'password password 1' is refused.
//!
//! With 15 characters asked for, the usual lists of leaked passwords hold little that could still be
//! chosen. What can is made by repeating and joining, so that is what is looked for: the words below
//! are our own gathering (from memory, no source), and the names of this site and person come to them.

/// Words of which a password may hold any number, so long as something else is in it too.
const COMMON: &[&str] = &[
    "password",
    "passwort",
    "passphrase",
    "pass",
    "word",
    "secret",
    "letmein",
    "let",
    "me",
    "in",
    "welcome",
    "login",
    "signin",
    "sign",
    "admin",
    "administrator",
    "user",
    "guest",
    "test",
    "demo",
    "default",
    "changeme",
    "change",
    "master",
    "root",
    "system",
    "server",
    "computer",
    "internet",
    "iloveyou",
    "i",
    "love",
    "you",
    "monkey",
    "dragon",
    "sunshine",
    "princess",
    "football",
    "baseball",
    "superman",
    "batman",
    "shadow",
    "hello",
    "freedom",
    "whatever",
    "trustno",
    "abc",
    "qwerty",
    "qwertz",
    "azerty",
    "qwertyuiop",
    "asdfghjkl",
    "asdfgh",
    "asdf",
    "zxcvbnm",
    "zxcvbn",
    "qazwsx",
    "spring",
    "summer",
    "autumn",
    "winter",
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
    "monday",
    "tuesday",
    "wednesday",
    "thursday",
    "friday",
    "saturday",
    "sunday",
    "my",
    "the",
    "is",
    "and",
    "a",
    "this",
    // what this server and its trade are called
    "slackwater",
    "slack",
    "water",
    "greenhouse",
    "glasshouse",
    "green",
    "glass",
    "house",
    "nursery",
    "garden",
    "bench",
    "peroxide",
    "hydrogen",
    "cleanout",
    "clean",
    "out",
    "hydroponics",
    "school",
    "flood",
    "drain",
    "grower",
    "coordinator",
    "lead",
    "hand",
    "viewer",
];

/// Keys side by side and letters in their order, forwards; they are looked for backwards too.
const ROWS: &[&str] = &[
    "abcdefghijklmnopqrstuvwxyz",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
    "azertyuiopqsdfghjklmwxcvbn",
    "01234567890123456789",
];

/// Words that must not be all that a password is made of, beyond the common ones: the names of the
/// site and of the person.
#[derive(Clone, Debug, Default)]
pub struct Avoid(Vec<String>);

impl Avoid {
    /// From names as they are written; each of their words counts by itself too.
    pub fn new(names: &[&str]) -> Self {
        let words = names.iter().flat_map(|name| {
            name.split(|c: char| !c.is_alphanumeric())
                .map(plain)
                .chain([plain(name)])
        });
        Self(words.filter(|word| word.chars().count() > 1).collect())
    }

    /// Why a password is one of those that are tried first, if it is.
    ///
    /// ```
    /// use slackwater::crew::guessable::Avoid;
    /// let avoid = Avoid::new(&["Orrelby Glasshouses", "Ines V."]);
    /// assert!(avoid.why("Orrelby Glasshouses 2027!").is_some());
    /// assert!(avoid.why("passwordpassword").is_some());
    /// assert!(avoid.why("tide pools at noon").is_none());
    /// ```
    pub fn why(&self, password: &str) -> Option<&'static str> {
        let text = plain(password);
        let letters: Vec<char> = text.chars().collect();
        if letters.is_empty() {
            return Some("it is made of signs alone");
        }
        if repeats(&letters) {
            return Some("it says one short thing over and over");
        }
        let backwards: String = letters.iter().rev().collect();
        if in_a_row(&text) || in_a_row(&backwards) {
            return Some("it follows the keys or the alphabet");
        }
        if self.makes(&text) {
            return Some("it is made only of words that anybody would try here");
        }
        None
    }

    /// Whether known words and figures, in any order, are all there is.
    fn makes(&self, text: &str) -> bool {
        // From each place that can be reached, every word that goes on from there.
        let mut reached = vec![false; text.len() + 1];
        if let Some(first) = reached.first_mut() {
            *first = true;
        }
        for (at, sign) in text.char_indices() {
            if !reached.get(at).copied().unwrap_or(false) {
                continue;
            }
            let rest = text.get(at..).unwrap_or_default();
            let own = self.0.iter().map(String::as_str);
            let words = COMMON.iter().copied().chain(own);
            let ends = words
                .filter(|word| rest.starts_with(word))
                .map(|word| at + word.len())
                .chain(sign.is_ascii_digit().then_some(at + 1));
            for end in ends {
                if let Some(place) = reached.get_mut(end) {
                    *place = true;
                }
            }
        }
        reached.last().copied().unwrap_or(false)
    }
}

/// Small letters and figures alone: what is left when signs and capitals are thought away.
fn plain(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// Whether it is up to four signs again and again.
fn repeats(letters: &[char]) -> bool {
    (1..=4).any(|length| {
        letters.len() > length
            && letters
                .iter()
                .zip(letters.iter().cycle().skip(length))
                .take(letters.len() - length)
                .all(|(one, next)| one == next)
    })
}

/// Whether all of it lies in a row of keys or letters.
fn in_a_row(text: &str) -> bool {
    ROWS.iter().any(|row| row.contains(text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_repeated_in_a_row_or_put_together_from_what_all_know_is_refused() {
        let avoid = Avoid::new(&["Orrelby Glasshouses", "Ines V.", "ines"]);
        for (guessable, why) in [
            ("aaaaaaaaaaaaaaa", "over and over"),
            ("abcabcabcabcabc", "over and over"),
            ("12 12 12 12 12 12 12 12", "over and over"),
            ("abcdefghijklmno", "follows the keys"),
            ("QWERTYUIOPASDFG", "follows the keys"),
            ("987654321098765", "follows the keys"),
            ("passwordpassword", "anybody would try"),
            ("Slackwater-2027-2027", "anybody would try"),
            ("orrelbyglasshouses", "anybody would try"),
            ("Ines is in Orrelby 1!", "anybody would try"),
            ("!!!!!!!!!!!!!!!!", "signs alone"),
        ] {
            let said = avoid.why(guessable).unwrap_or_default();
            assert!(said.contains(why), "{guessable}: '{said}'");
        }
    }

    #[test]
    fn words_that_only_one_person_puts_together_are_taken() {
        let avoid = Avoid::new(&["Orrelby Glasshouses", "Ines V.", "ines"]);
        for own in [
            "tide pools at noon",
            "four fathoms deep",
            "a tide of my own",
            "my password is a heron",
            "Zwölf Boxkämpfer jagen",
            "水面が静かになる時を待つ人々",
            "k7+q-2mxv9-tt4wz",
        ] {
            assert_eq!(avoid.why(own), None, "{own}");
        }
    }

    proptest::proptest! {
        #[test]
        fn no_text_panics(text in ".{0,80}") {
            let _ = Avoid::new(&[&text]).why(&text);
        }
    }
}
