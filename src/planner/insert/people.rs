//! Where people are free for the phases of a job.

use super::super::bits::{climb, unseam};
use super::super::farm::Farm;
use super::super::problem::{Job, Slot};
use super::{Able, Inserter, Need};

impl Inserter {
    /// Finds from where enough people are free for each of the job's needs.
    pub(super) fn people(&mut self, farm: &Farm<'_>, job: &Job, begin: usize, end: Slot) {
        let hands = |length: Slot, people: usize| Need {
            length,
            people,
            concentrate: false,
        };
        self.needs.clear();
        self.needs.push(hands(job.strip.duration, job.strip.people));
        self.needs.push(Need {
            length: job.dose.duration,
            people: 1,
            concentrate: true,
        });
        self.needs
            .push(hands(job.teardown.duration, job.teardown.people));
        self.needs
            .push(hands(job.inspect.duration, job.inspect.people));
        for rinse in &job.rinses {
            let need = hands(rinse.hands_on, 1);
            if !self.needs[4..].contains(&need) {
                self.needs.push(need);
            }
        }
        if job.dose.people > 1 {
            self.needs.push(hands(job.dose.duration, job.dose.people));
        }
        let longest = self.needs.iter().map(|need| need.length).max().unwrap_or(1);
        let until = end as usize / 64 + 1;
        let words = until - begin;
        self.able
            .resize_with(self.able.len().max(self.needs.len()), Able::default);
        for (need, able) in self.needs.iter().zip(&mut self.able) {
            for levels in [&mut able.all, &mut able.regular] {
                levels.resize_with(levels.len().max(need.people), Vec::new);
                for level in &mut levels[..need.people] {
                    level.clear();
                    level.resize(words, 0);
                }
            }
        }
        for hours in &farm.people {
            let free = &hours.free.words[begin..until.min(hours.free.words.len())];
            if free.iter().all(|word| *word == 0) {
                continue;
            }
            self.runs.of(free, longest);
            let same = !hours.works_overtime() || {
                let regular = &hours.regular.words[begin..];
                free.iter()
                    .zip(regular)
                    .all(|(free, regular)| free & !regular == 0)
            };
            for (need, able) in self.needs.iter().zip(&mut self.able) {
                if need.concentrate && !hours.concentrate {
                    continue;
                }
                self.runs.starts(need.length, &mut self.starts);
                unseam(&mut self.starts, begin, &hours.seams, need.length);
                climb(&mut able.all[..need.people], &self.starts);
                if same {
                    climb(&mut able.regular[..need.people], &self.starts);
                }
            }
            if same {
                continue;
            }
            self.regular.clear();
            let regular = &hours.regular.words[begin..];
            self.regular.extend(
                free.iter()
                    .zip(regular)
                    .map(|(free, regular)| free & regular),
            );
            self.runs.of(&self.regular, longest);
            for (need, able) in self.needs.iter().zip(&mut self.able) {
                if need.concentrate && !hours.concentrate {
                    continue;
                }
                self.runs.starts(need.length, &mut self.starts);
                unseam(&mut self.starts, begin, &hours.seams, need.length);
                climb(&mut able.regular[..need.people], &self.starts);
            }
        }
    }
}
