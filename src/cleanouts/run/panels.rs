//! What stands in the middle of a step's page: a tick, a clock, a reading, a pour.

use chrono::NaiveDateTime;

use super::measured::{counting, is_corrected, limit_words, taken_at};
use super::span::TITRATED;
use super::view::Input;
use super::{Ahead, Job, Standing, Stretch};
use crate::cleanouts::card::{FrozenLimit, FrozenStep, Marks, ReadingKind, StepKind};
use crate::cleanouts::rules::Beside;
use crate::clock::Moment;
use crate::crew::Person;
use crate::crops::gap::length_words;
use crate::drawings::{jug::Jug, soak::Soak};
use crate::register::gauges::GaugeKind;
use crate::science::quantity::WaterTemperature;
use crate::science::show;
use crate::science::stored::{Millilitres, Minutes};
use crate::science::strength::Basis;
use crate::science::units::Units;
use crate::site::full_day;

/// What stands in the middle of the page.
#[derive(Debug)]
pub enum Panel {
    Tick(TickPanel),
    Timed(TimedPanel),
    Reading(ReadingPanel),
    Protection(ProtectionPanel),
    Pour(PourPanel),
    PouredOut,
}

#[derive(Debug)]
pub struct TickPanel {
    pub done: bool,
    /// A rinse can be done once more.
    pub again: bool,
    /// The adults to choose the second person from, where two are asked.
    pub seconds: Option<Vec<(String, String)>>,
    /// The groups that may help at this step; none where there are none.
    pub helpers: Vec<(String, String)>,
}

#[derive(Debug)]
pub struct TimedPanel {
    /// 'Soak', 'Rinse', 'Time'.
    pub noun: &'static str,
    pub least: String,
    pub going: Option<GoingPanel>,
    pub done: bool,
    pub again: bool,
    pub stretches: Vec<StretchLine>,
    /// The calculator of a soak, with this job's figures; empty for other times.
    pub calculator: String,
    /// Strips in a soak, and whether one can be entered now.
    pub strip: Option<Box<ReadingPanel>>,
    pub stands: bool,
    /// What they say together.
    pub says: Vec<String>,
    /// Whom to choose from where somebody has to be beside.
    pub seconds: Option<Vec<(String, String)>>,
}

#[derive(Debug)]
pub struct GoingPanel {
    pub begun: String,
    pub until: String,
    pub left: String,
    /// For the countdown: the end and the present, as the server has them.
    pub until_utc: Moment,
    pub now_utc: Moment,
    pub over: bool,
    pub drawing: Option<Soak>,
}

#[derive(Debug)]
pub struct StretchLine {
    pub words: String,
    pub short: bool,
    pub note: String,
}

#[derive(Debug)]
pub struct ReadingPanel {
    pub title: &'static str,
    pub unit: &'static str,
    pub strip: bool,
    pub tool: bool,
    pub tool_label: &'static str,
    /// The limit for the release, where there is one.
    pub hint: String,
    pub lines: Vec<ReadingLine>,
    /// What it can be read with; empty where nothing says how far it may be off.
    pub gauges: Vec<(String, String)>,
    /// The reading that is put right.
    pub corrects: Option<String>,
    pub done: bool,
    /// The rinse to do once more, where the newest reading shows too much.
    pub rinse: Option<i64>,
    /// Whom to choose from where somebody has to be beside.
    pub seconds: Option<Vec<(String, String)>>,
}

#[derive(Debug)]
pub struct ReadingLine {
    pub words: String,
    pub by: String,
    pub struck: bool,
    pub correct: Option<String>,
    /// Why it does not keep the limit, or does not show that it does.
    pub beyond: String,
    /// How its range is known.
    pub how: String,
}

#[derive(Debug)]
pub struct ProtectionPanel {
    /// The adults to choose the second person from, where two are asked.
    pub seconds: Option<Vec<(String, String)>>,
}

#[derive(Debug)]
pub struct PourPanel {
    pub no: i64,
    /// '2.50' and 'L', as on the jug.
    pub figure: String,
    pub unit: &'static str,
    /// The same in the reader's units, where those are others.
    pub other: String,
    pub words: String,
    pub jug: Option<Jug>,
    pub rows: Vec<(&'static str, String)>,
    pub batch: String,
}

/// Litres as the jug has them.
pub fn jug_words(amount: Millilitres, capacity: Millilitres) -> (String, &'static str) {
    if capacity.get() < 1000 {
        (amount.get().to_string(), "mL")
    } else {
        (show::fixed(amount.get() as f64 / 1000.0, 2), "L")
    }
}

impl Job {
    pub fn litres(&self, amount: Millilitres) -> String {
        let (figure, unit) = jug_words(amount, self.card.dose.jug.capacity);
        format!("{figure}\u{a0}{unit}")
    }

    fn local(&self, at: Moment) -> NaiveDateTime {
        at.in_zone(self.who.site.zone).naive_local()
    }

    pub fn panel(&self, step: &FrozenStep, standing: Standing, input: &Input) -> Panel {
        match step.kind {
            StepKind::Tick => Panel::Tick(TickPanel {
                done: standing.is_done(),
                again: step.marks == Marks::Rinse,
                seconds: self.seconds(step),
                helpers: self.helpers(step),
            }),
            StepKind::Timed => Panel::Timed(self.timed(step, standing, input)),
            StepKind::Reading => Panel::Reading(self.reading(step, standing, input)),
            StepKind::Pours => match self.ahead {
                Some(_) if standing.is_done() => Panel::PouredOut,
                Some(_) if self.needs_protection(step) => Panel::Protection(ProtectionPanel {
                    seconds: self.seconds(step),
                }),
                Some(ahead) => Panel::Pour(self.pour(ahead)),
                None => Panel::PouredOut,
            },
        }
    }

    fn helpers(&self, step: &FrozenStep) -> Vec<(String, String)> {
        let may = |group: &&Person| self.rules.keeps_out(step, group, self.today).is_none();
        let mut options: Vec<(String, String)> = self
            .groups
            .iter()
            .filter(may)
            .map(|group| {
                let words = format!("{}, {} people", group.name, group.head_count);
                (group.id.to_string(), words)
            })
            .collect();
        if !options.is_empty() {
            options.insert(0, (String::new(), "Nobody else".to_owned()));
        }
        options
    }

    /// Whom to choose from where somebody has to be beside; none where nobody has. A shared tablet does not
    /// know yet who will sign, so there everybody is offered and the signature decides.
    fn seconds(&self, step: &FrozenStep) -> Option<Vec<(String, String)>> {
        let beside = match self.signers {
            Some(_) if self.rules.may_need_beside(step, self.today) => Beside::Adult,
            Some(_) => Beside::Nobody,
            None => self.beside(step),
        };
        if beside == Beside::Nobody {
            return None;
        }
        let mut options = vec![(String::new(), "Choose who".to_owned())];
        options.extend(
            self.can_be_beside(beside)
                .map(|person| (person.id.to_string(), person.name.to_string())),
        );
        Some(options)
    }

    fn timed(&self, step: &FrozenStep, standing: Standing, input: &Input) -> TimedPanel {
        let least = step.minutes.map_or(0, Minutes::get);
        let noun = match step.marks {
            Marks::Soak => "Soak",
            Marks::Rinse => "Rinse",
            _ => "Time",
        };
        let going = match standing {
            Standing::Going { since } => {
                let until = since.plus(chrono::TimeDelta::minutes(least));
                let seconds = until.since(self.now).num_seconds();
                let says = format!("{}, kept wet", length_words(least));
                Some(GoingPanel {
                    begun: self.when(since),
                    until: self.when(until),
                    left: length_words((seconds.max(0) + 59) / 60),
                    until_utc: until,
                    now_utc: self.now,
                    over: seconds <= 0,
                    drawing: Soak::standing(self.local(since), self.local(until), says)
                        .map(|soak| soak.at(self.local(self.now))),
                })
            }
            _ => None,
        };
        let line = |stretch: &Stretch<'_>| StretchLine {
            words: format!(
                "{} to {}, {} ({})",
                self.when(stretch.begun.at),
                self.when(stretch.ended.at),
                length_words(stretch.minutes()),
                stretch.ended.by.name
            ),
            short: stretch.minutes() < least,
            note: stretch.ended.note.to_string(),
        };
        let stands = going.is_some() && self.may_go_on().is_ok();
        let strip = (step.marks == Marks::Soak)
            .then(|| Box::new(self.soak_strip(step, standing, input)))
            .filter(|strip| stands || !strip.lines.is_empty());
        TimedPanel {
            says: match strip {
                Some(_) => self.soak_says(step, standing),
                None => Vec::new(),
            },
            stands: stands || !input.corrects.is_empty(),
            seconds: self.seconds(step),
            strip,
            noun,
            least: length_words(least),
            going,
            done: standing.is_done(),
            again: matches!(step.marks, Marks::Soak | Marks::Rinse),
            stretches: self.progress().stretches(step).iter().map(line).collect(),
            calculator: match step.marks {
                Marks::Soak => self.soak_calculator(least),
                _ => String::new(),
            },
        }
    }

    /// What the dose gave and how long it is to last; the decay is for the strips to say.
    fn soak_calculator(&self, minutes: i64) -> String {
        let dose = &self.card.dose;
        let mut pairs = vec![("time", format!("{minutes} min"))];
        if let Ok(celsius) = dose.temperature.celsius()
            && let Ok(water) = WaterTemperature::new(celsius.degrees())
            && let Ok(start) = dose.target.on(Basis::MilligramsPerLitre, water)
        {
            pairs.push(("start", show::strength(start)));
            pairs.push(("celsius", celsius.degrees().to_string()));
        }
        crate::web::address("/calculators/soak", &pairs)
    }

    fn reading(&self, step: &FrozenStep, standing: Standing, input: &Input) -> ReadingPanel {
        let kind = step.reading.unwrap_or(ReadingKind::Peroxide);
        let units = self.who.site.units;
        let limits = &self.card.method.limits;
        let limit = limits.iter().find(|limit| limit.reading == kind);
        let newest = counting(&self.record.readings)
            .into_iter()
            .rfind(|(_, reading)| reading.step_no == Some(step.no));
        let too_much = newest
            .zip(limit)
            .is_some_and(|((_, reading), limit)| reading.value.keeps(limit, units).is_err());
        let progress = self.progress();
        let rinse = progress
            .marked(&[Marks::Rinse])
            .filter(|rinse| rinse.no < step.no)
            .last();
        let hint = match limit {
            Some(limit) if kind.gauge().is_some() => format!(
                "For the release: {}, and the whole range of the reading within it.",
                limit_words(limit, units)
            ),
            Some(limit) => format!("For the release: {}.", limit_words(limit, units)),
            None => String::new(),
        };
        ReadingPanel {
            rinse: rinse
                .filter(|_| kind == ReadingKind::Peroxide && too_much)
                .map(|rinse| rinse.no),
            done: standing.is_done(),
            ..self.readings_at(step, kind, limit, hint, input)
        }
    }

    /// Strips in the soak, held against the weakest that the card reckons with.
    fn soak_strip(&self, step: &FrozenStep, standing: Standing, input: &Input) -> ReadingPanel {
        let limit = self.soak_limit();
        let hint = limit.as_ref().map_or_else(String::new, |limit| {
            format!(
                "The card reckons with {}. A strip that ends below that shows it only diluted. A reading that leaves it open holds the release until one shows it, or it is soaked once more.",
                limit_words(limit, self.who.site.units)
            )
        });
        ReadingPanel {
            title: "Peroxide in the soak",
            done: standing.is_done(),
            ..self.readings_at(step, ReadingKind::Peroxide, limit.as_ref(), hint, input)
        }
    }

    /// The readings of a step and the form for another one.
    fn readings_at(
        &self,
        step: &FrozenStep,
        kind: ReadingKind,
        limit: Option<&FrozenLimit>,
        hint: String,
        input: &Input,
    ) -> ReadingPanel {
        let units = self.who.site.units;
        let readings = &self.record.readings;
        let lines = readings
            .iter()
            .filter(|reading| reading.step_no == Some(step.no))
            .map(|reading| {
                let struck = is_corrected(readings, reading.id);
                let tool = match (reading.tool.as_str(), reading.tool_expires_on) {
                    ("", _) => String::new(),
                    (tool, None) => format!(", {tool}"),
                    (tool, Some(last)) => format!(", {tool}, good to {}", full_day(last)),
                };
                ReadingLine {
                    words: reading.value.words(units),
                    by: format!(
                        "{}, {}{tool}",
                        reading.by.name,
                        self.when(taken_at(readings, reading))
                    ),
                    struck,
                    correct: (!struck && self.may_go_on().is_ok())
                        .then(|| format!("{}?correct={}", self.step_path(step.no), reading.id)),
                    beyond: match limit.map(|limit| reading.value.keeps(limit, units)) {
                        Some(Err(why)) if !struck => why,
                        _ => String::new(),
                    },
                    how: reading.how.clone(),
                }
            });
        ReadingPanel {
            rinse: None,
            seconds: match step.kind {
                StepKind::Reading => self.seconds(step),
                _ => None,
            },
            title: kind.title(),
            unit: kind.reader_unit(units),
            strip: kind.takes_strip(),
            tool: kind.takes_tool(),
            tool_label: if kind.takes_strip() {
                "Lot of the strip or the titrant"
            } else {
                "Lot of the buffer, if fresh"
            },
            hint,
            gauges: self.gauges_for(kind),
            corrects: counting(readings)
                .into_iter()
                .find(|(_, reading)| reading.id.to_string() == input.corrects)
                .map(|(_, reading)| reading.value.words(units)),
            lines: lines.collect(),
            done: false,
        }
    }

    /// What a kind can be read with, the usual figure first.
    fn gauges_for(&self, kind: ReadingKind) -> Vec<(String, String)> {
        let Some(gauge) = kind.gauge() else {
            return Vec::new();
        };
        let usual = match gauge {
            GaugeKind::Strip => "A strip that is not on record: half of it either way".to_owned(),
            pen => format!("A pen that is not on record: {}", pen.usual()),
        };
        let mut options = vec![(String::new(), usual)];
        options.extend(
            self.gauges
                .iter()
                .filter(|one| one.figures.kind == gauge)
                .map(|one| {
                    let words = format!("{}: {}", one.figures.name, one.figures.range_words());
                    (one.id.to_string(), words)
                }),
        );
        if kind == ReadingKind::Peroxide {
            options.push((TITRATED.to_owned(), "A titration".to_owned()));
        }
        options
    }

    fn pour(&self, ahead: Ahead) -> PourPanel {
        let jug = &self.card.dose.jug;
        let (figure, unit) = jug_words(ahead.amount, jug.capacity);
        let after =
            Millilitres::new(self.dosed.sum.get() + ahead.amount.get()).unwrap_or(self.dosed.sum);
        let batches = &self.card.dose.batches;
        let batch = match batches.get(ahead.batch) {
            Some(batch) if batches.len() > 1 => format!(
                "Batch {} of {}: first {} of water in the reservoir.",
                ahead.batch + 1,
                batches.len(),
                show::volume(batch.water.volume(), self.who.site.units)
            ),
            _ => String::new(),
        };
        PourPanel {
            no: ahead.no,
            other: match self.who.site.units {
                Units::Metric => String::new(),
                units => show::volume(ahead.amount.volume(), units),
            },
            words: format!("{figure}\u{a0}{unit}"),
            figure,
            unit,
            jug: u32::try_from(jug.capacity.get())
                .ok()
                .zip(u32::try_from(ahead.amount.get()).ok())
                .and_then(|(holds, pour)| Jug::new(holds, pour)),
            rows: vec![
                ("in so far", self.litres(self.dosed.sum)),
                ("after this", self.litres(after)),
                ("of", self.litres(self.dosed.asked)),
                ("lot", self.card.dose.lot.code.clone()),
            ],
            batch,
        }
    }
}
