//! Which published source this site goes by, where two differ: the safer one until somebody chooses.

use chrono::NaiveDate;

use super::full_day;
use crate::science::sources::{Answer, Choices, Question};

/// The newest choice of each question that the site answered.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chosen(Vec<(Question, String, NaiveDate)>);

impl Chosen {
    pub fn new(newest: Vec<(Question, String, NaiveDate)>) -> Self {
        Self(newest)
    }

    /// The same for a sum that knows no site.
    pub fn choices(&self) -> Choices {
        let chosen = self.0.iter();
        Choices::new(
            chosen
                .map(|(of, choice, _)| (*of, choice.clone()))
                .collect(),
        )
    }

    /// What is in use for a question.
    pub fn of(&self, question: Question) -> InUse {
        let chosen = self.0.iter().find(|(of, ..)| *of == question);
        let answer = question.answer(chosen.map(|(_, choice, _)| choice.as_str()));
        InUse {
            since: chosen
                .filter(|_| answer.by_site)
                .map(|(_, _, day)| full_day(*day)),
            answer,
        }
    }
}

/// The answer in use, with the day of the choice.
#[derive(Clone, Debug, PartialEq)]
pub struct InUse {
    pub answer: Answer,
    /// '4 March 2027', where the site chose.
    pub since: Option<String>,
}

impl InUse {
    /// 'Two sources differ: 30 minutes and 15 minutes; the safer, 30 minutes, is used.', with the day
    /// where the site chose.
    pub fn words(&self) -> String {
        let words = self.answer.to_string();
        match &self.since {
            Some(day) => format!("{} on {day}.", words.trim_end_matches('.')),
            None => words,
        }
    }

    /// '30 minutes (the safer of two sources)', for where there is little room.
    pub fn short(&self) -> String {
        let by = match self.since {
            Some(_) => "as this site chose",
            None if self.answer.question.dispute().answers.len() > 2 => "the safest of the sources",
            None => "the safer of two sources",
        };
        format!("{} ({by})", self.answer.published.words)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_day_of_a_choice_is_said_and_no_choice_means_the_safer() {
        let day = "2027-03-04".parse().unwrap();
        let chosen = Chosen::new(vec![(Question::EyeRinse, "15".to_owned(), day)]);
        let eyes = chosen.of(Question::EyeRinse);
        assert!(
            eyes.words()
                .ends_with("this site chose 15 minutes on 4 March 2027.")
        );
        assert_eq!(eyes.short(), "15 minutes (as this site chose)");
        let loss = chosen.of(Question::StockLoss);
        assert!(loss.answer.is_safer() && loss.since.is_none());
        assert!(loss.short().contains("the safer of two sources"));
    }
}
