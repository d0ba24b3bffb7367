//! Where two published sources give different figures: what each says, which of them is the safer,
//! and which is in use.
//!
//! Only figures that stand on a page are here. The safer one is used until a site chooses.

use std::fmt;

use super::peroxide::YearlyLoss;

/// A figure on which published sources differ.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Question {
    /// How long eyes are rinsed after a splash.
    EyeRinse,
    /// What a closed can of concentrate is taken to lose in a year, where nobody measured it.
    StockLoss,
}

/// One published answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Published {
    /// The text that is stored.
    pub code: &'static str,
    /// The number, in the unit of its question.
    pub figure: f64,
    /// The figure with its unit, as a page shows it.
    pub words: &'static str,
    /// Where it stands written, or that it is from memory.
    pub source: &'static str,
}

/// A question with its answers.
#[derive(Debug)]
pub struct Dispute {
    /// What is asked, as a heading.
    pub title: &'static str,
    /// Where the figure stands.
    pub stands_on: &'static str,
    /// The answers. The first is the safer one.
    pub answers: &'static [Published],
    /// Why the first is the safer one.
    pub because: &'static str,
}

impl Question {
    /// Every question.
    pub const ALL: [Self; 2] = [Self::EyeRinse, Self::StockLoss];

    /// The text that is stored.
    pub fn code(self) -> &'static str {
        match self {
            Self::EyeRinse => "eye-rinse",
            Self::StockLoss => "stock-loss",
        }
    }

    /// The question with this stored text.
    ///
    /// ```
    /// use slackwater::science::sources::Question;
    /// assert_eq!(Question::from_code("eye-rinse"), Some(Question::EyeRinse));
    /// assert_eq!(Question::from_code("colour"), None);
    /// ```
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|question| question.code() == code)
    }

    /// What the sources say.
    ///
    /// ```
    /// use slackwater::science::sources::Question;
    /// let eyes = Question::EyeRinse.dispute();
    /// assert!(eyes.answers[0].figure >= eyes.answers[1].figure);
    /// ```
    pub fn dispute(self) -> &'static Dispute {
        match self {
            Self::EyeRinse => &EYE_RINSE,
            Self::StockLoss => &STOCK_LOSS,
        }
    }

    /// The answer in use: the site's, or the safer one. A stored word that no answer has is none.
    ///
    /// ```
    /// use slackwater::science::sources::Question;
    /// let unchosen = Question::EyeRinse.answer(None);
    /// assert_eq!((unchosen.published.figure, unchosen.by_site), (30.0, false));
    /// let chosen = Question::EyeRinse.answer(Some("15"));
    /// assert_eq!((chosen.published.figure, chosen.by_site), (15.0, true));
    /// ```
    pub fn answer(self, chosen: Option<&str>) -> Answer {
        let dispute = self.dispute();
        let found = dispute
            .answers
            .iter()
            .find(|published| chosen == Some(published.code));
        Answer {
            question: self,
            published: found.unwrap_or(&dispute.answers[0]),
            by_site: found.is_some(),
        }
    }
}

static EYE_RINSE: Dispute = Dispute {
    title: "How long eyes are rinsed",
    stands_on: "job card, run, troubles, taking concentrate",
    answers: &[
        Published {
            code: "30",
            figure: 30.0,
            words: "30 minutes",
            source: "New Jersey Right to Know hazardous substance fact sheet, first aid",
        },
        Published {
            code: "15",
            figure: 15.0,
            words: "15 minutes",
            source: "Washington State rule on eyewashes, WAC 296-800-15030: water for 15 minutes",
        },
    ],
    because: "it rinses longer",
};

static STOCK_LOSS: Dispute = Dispute {
    title: "What concentrate loses in a year, until it is titrated",
    stands_on: "receiving a lot",
    answers: &[
        Published {
            code: "2",
            figure: 2.0,
            words: "2 % a year",
            source: "small packs, under 2 % a year (from memory)",
        },
        Published {
            code: "1",
            figure: 1.0,
            words: "1 % a year",
            source: "producers' page on safe storage: under 1 % a year, stabilised and kept cool",
        },
    ],
    because: "a dose is then not weaker than it is taken for",
};

/// The answer in use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// What is asked.
    pub question: Question,
    /// The answer.
    pub published: &'static Published,
    /// Whether the site chose it. It may have chosen the safer one, too.
    pub by_site: bool,
}

impl Answer {
    /// Whether it is the safer one.
    pub fn is_safer(&self) -> bool {
        self.published == &self.question.dispute().answers[0]
    }

    /// The loss of a stock in a year; none for another question.
    ///
    /// ```
    /// use slackwater::science::sources::Question;
    /// let loss = Question::StockLoss.answer(None).yearly_loss().unwrap();
    /// assert!((loss.get() - 0.02).abs() < 1e-12);
    /// ```
    pub fn yearly_loss(&self) -> Option<YearlyLoss> {
        match self.question {
            Question::StockLoss => YearlyLoss::new(self.published.figure / 100.0).ok(),
            Question::EyeRinse => None,
        }
    }
}

/// 'Two sources differ: 30 minutes and 15 minutes; the safer, 30 minutes, is used.'
impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Two sources differ: ")?;
        for (place, published) in self.question.dispute().answers.iter().enumerate() {
            let joint = if place == 0 { "" } else { " and " };
            write!(f, "{joint}{}", published.words)?;
        }
        let used = self.published.words;
        match (self.by_site, self.is_safer()) {
            (false, _) => write!(f, "; the safer, {used}, is used."),
            (true, true) => write!(f, "; this site chose the safer, {used}."),
            (true, false) => write!(f, "; this site chose {used}."),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_question_has_two_answers_with_a_source_and_words_of_their_own() {
        for question in Question::ALL {
            let dispute = question.dispute();
            assert!(dispute.answers.len() >= 2);
            for (place, answer) in dispute.answers.iter().enumerate() {
                assert!(!answer.source.is_empty());
                let first = dispute
                    .answers
                    .iter()
                    .position(|one| one.code == answer.code);
                assert_eq!(first, Some(place));
            }
            assert_eq!(Question::from_code(question.code()), Some(question));
        }
    }

    #[test]
    fn nobody_chose_means_the_safer_and_a_strange_word_is_no_choice() {
        for question in Question::ALL {
            for chosen in [None, Some("nonsense")] {
                let answer = question.answer(chosen);
                assert!(answer.is_safer() && !answer.by_site);
                assert!(answer.to_string().contains("the safer"), "{answer}");
            }
        }
        let chosen = Question::EyeRinse.answer(Some("15"));
        assert_eq!(chosen.published.figure, 15.0);
        assert!(chosen.to_string().ends_with("this site chose 15 minutes."));
        assert_eq!(chosen.yearly_loss(), None);
    }

    #[test]
    fn what_is_taken_as_usual_is_the_safer_answer() {
        let loss = Question::StockLoss.answer(None).yearly_loss().unwrap();
        assert_eq!(loss, YearlyLoss::USUAL);
    }
}
