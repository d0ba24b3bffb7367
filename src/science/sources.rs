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
    /// How much peroxide may stand in the air that people breathe.
    AirLimit,
    /// How much vapour stands over a solution.
    Vapour,
    /// How much less a membrane gives in the cold.
    Membrane,
    /// How much water runs over the rim of an overflow.
    Weir,
    /// From which strength a solution has the heavier transport number.
    Transport,
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
    pub const ALL: [Self; 7] = [
        Self::EyeRinse,
        Self::StockLoss,
        Self::AirLimit,
        Self::Vapour,
        Self::Membrane,
        Self::Weir,
        Self::Transport,
    ];

    /// The text that is stored.
    pub fn code(self) -> &'static str {
        match self {
            Self::EyeRinse => "eye-rinse",
            Self::StockLoss => "stock-loss",
            Self::AirLimit => "air-limit",
            Self::Vapour => "vapour",
            Self::Membrane => "membrane",
            Self::Weir => "weir",
            Self::Transport => "transport",
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
            Self::AirLimit => &AIR_LIMIT,
            Self::Vapour => &VAPOUR,
            Self::Membrane => &MEMBRANE,
            Self::Weir => &WEIR,
            Self::Transport => &TRANSPORT,
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

static AIR_LIMIT: Dispute = Dispute {
    title: "How much peroxide may stand in the air, over eight hours",
    stands_on: "airing on the dose sheet and the job card, calculators of air",
    answers: &[
        // 0.4 mg/m³ are 0.283 ppm at 20 °C and 0.288 at 25 °C; rounded down.
        Published {
            code: "0.28",
            figure: 0.28,
            words: "0.28 ppm (0.4 mg/m³)",
            source: "limit of Poland, as quoted: 0.4 mg/m³, and 0.8 for a short time",
        },
        Published {
            code: "0.5",
            figure: 0.5,
            words: "0.5 ppm",
            source: "MAK of the DFG, Germany, as quoted: 0.5 ppm, 0.71 mg/m³",
        },
        Published {
            code: "1",
            figure: 1.0,
            words: "1 ppm",
            source: "OSHA, NIOSH, ACGIH and EH40 of the United Kingdom, as quoted: 1 ppm, 1.4 mg/m³",
        },
    ],
    because: "it asks for cleaner air",
};

static VAPOUR: Dispute = Dispute {
    title: "How much vapour stands over a weak solution",
    stands_on: "airing on the dose sheet and the job card, calculator 'vapour'",
    answers: &[
        Published {
            code: "activity",
            figure: 7.6,
            words: "7.6 ppm over 3 % at 20 °C",
            source: "Scatchard, Kavanagh and Ticknor, J. Am. Chem. Soc. 74, 1952 (coefficients from memory)",
        },
        Published {
            code: "henry",
            figure: 6.7,
            words: "6.7 ppm over 3 % at 20 °C",
            source: "Henry data for weak solutions (from memory); above 10 % by weight the first is used either way",
        },
    ],
    because: "it states more vapour",
};

static MEMBRANE: Dispute = Dispute {
    title: "How much less a membrane gives in the cold",
    stands_on: "calculator 'membrane'",
    answers: &[
        Published {
            code: "larger",
            figure: 1.89,
            words: "a factor of 1.89 at 10 °C",
            source: "table of a water treatment guide; where the other source asks for more, above 25 °C, the other",
        },
        Published {
            code: "chart",
            figure: 1.71,
            words: "a factor of 1.71 at 10 °C",
            source: "chart of a maker of thin-film membranes",
        },
    ],
    because: "too little water stops a clean-out, and too much does not",
};

static WEIR: Dispute = Dispute {
    title: "How much water runs over the rim of an overflow",
    stands_on: "overflow check of a bench, calculator 'overflow'",
    answers: &[
        Published {
            code: "1.55",
            figure: 1.55,
            words: "a coefficient of 1.55 √m/s",
            source: "least of the range in a university lecture on routing: 2.8 in feet",
        },
        Published {
            code: "1.66",
            figure: 1.66,
            words: "1.66 √m/s",
            source: "usual value in the same lecture: 3.0 in feet",
        },
        Published {
            code: "1.84",
            figure: 1.84,
            words: "1.84 √m/s",
            source: "most of the range in the same lecture: 3.33 in feet",
        },
    ],
    because: "it counts on less water through the overflow",
};

static TRANSPORT: Dispute = Dispute {
    title: "From which strength a solution travels as UN2015",
    stands_on: "calculator 'transport'",
    answers: &[
        Published {
            code: "52",
            figure: 52.0,
            words: "52 % by weight",
            source: "toxicological profile of the US ATSDR",
        },
        Published {
            code: "60",
            figure: 60.0,
            words: "60 % by weight",
            source: "letter of the US DOT, and the UN list of dangerous goods",
        },
    ],
    because: "the heavier rules apply to more",
};

/// What somebody chose; a question that nobody answered has the safer answer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Choices(Vec<(Question, String)>);

impl Choices {
    /// Each question with the stored text of its answer; the first of a question counts.
    pub fn new(chosen: Vec<(Question, String)>) -> Self {
        Self(chosen)
    }

    /// The answer in use.
    ///
    /// ```
    /// use slackwater::science::sources::{Choices, Question};
    /// let chosen = Choices::new(vec![(Question::AirLimit, "1".to_owned())]);
    /// assert_eq!(chosen.answer(Question::AirLimit).published.figure, 1.0);
    /// assert_eq!(Choices::default().answer(Question::AirLimit).published.figure, 0.28);
    /// ```
    pub fn answer(&self, question: Question) -> Answer {
        let chosen = self.0.iter().find(|(of, _)| *of == question);
        question.answer(chosen.map(|(_, code)| code.as_str()))
    }
}

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
            _ => None,
        }
    }
}

/// 'Two sources differ: 30 minutes and 15 minutes; the safer, 30 minutes, is used.'
impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let answers = self.question.dispute().answers;
        let many = match answers.len() {
            2 => "Two",
            _ => "Published",
        };
        write!(f, "{many} sources differ: ")?;
        for (place, published) in answers.iter().enumerate() {
            let joint = match place {
                0 => "",
                _ if place + 1 == answers.len() => " and ",
                _ => ", ",
            };
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

    /// The safer one is the first: longer, weaker, cleaner, less water, sooner.
    #[test]
    fn the_first_answer_is_the_safer_one() {
        for question in Question::ALL {
            let figures: Vec<f64> = question
                .dispute()
                .answers
                .iter()
                .map(|one| one.figure)
                .collect();
            let rising = figures.is_sorted_by(|a, b| a < b);
            let falling = figures.is_sorted_by(|a, b| a > b);
            let safer_is_most = match question {
                Question::EyeRinse
                | Question::StockLoss
                | Question::Vapour
                | Question::Membrane => true,
                Question::AirLimit | Question::Weir | Question::Transport => false,
            };
            assert!(if safer_is_most { falling } else { rising }, "{figures:?}");
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
