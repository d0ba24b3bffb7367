//! How an answer is told: as a sentence and line by line, in the reader's units.

use super::answer::{Answer, Found, Line};
use super::calculator::{Calculator, capital};
use crate::science::units::Units;

impl Calculator {
    /// Its name as a heading: 'Air clearing'.
    pub fn title(&self) -> String {
        capital(&self.name.replace('-', " "))
    }

    /// The answer as a sentence, in the reader's units: its own, else the first line that was found,
    /// else why nothing was.
    pub fn headline(&self, answer: &Answer, units: Units) -> String {
        let filled = |headline: &&'static str| self.fill(headline, answer, units);
        let first = || {
            answer.lines.iter().find_map(|line| {
                let label = capital(self.output(line.key)?.says);
                Some(format!("{label}: {}.", self.shown(line, units)?))
            })
        };
        self.headlines
            .iter()
            .find_map(filled)
            .or_else(first)
            .unwrap_or_else(|| {
                let why = answer.lines.iter().find(|line| line.found == Found::None);
                let why = why.map_or("There is no answer", |line| line.working.as_str());
                format!("{}.", capital(why))
            })
    }

    fn fill(&self, headline: &str, answer: &Answer, units: Units) -> Option<String> {
        let mut sentence = String::new();
        let mut parts = headline.split(['{', '}']);
        while let Some(words) = parts.next() {
            sentence.push_str(words);
            if let Some(key) = parts.next() {
                let line = answer.lines.iter().find(|line| line.key == key)?;
                sentence.push_str(&self.shown(line, units)?);
            }
        }
        Some(capital(&sentence))
    }

    /// What a line found, in the reader's units; nothing where it found nothing.
    pub fn shown(&self, line: &Line, units: Units) -> Option<String> {
        match &line.found {
            Found::Number(number) => Some(self.output(line.key)?.kind.show(*number, units)),
            Found::List(numbers) => {
                let kind = self.output(line.key)?.kind;
                let shown: Vec<String> = numbers
                    .iter()
                    .map(|number| kind.show(*number, units))
                    .collect();
                Some(shown.join("; "))
            }
            Found::Words(words) => Some(words.clone()),
            Found::None => None,
        }
    }
}
