//! The method that a new register begins with, so that nobody starts from an empty page.
//!
//! Its working strength has no source yet, and its pages say so until somebody enters the label of the
//! product or an adviser. Its limits for pH and EC are common practice without a source; the limit for
//! peroxide is the strictest that a strip resolves well below the first published damage to seedlings
//! at 8 mg/L.

use super::{
    Contents, Least, Limit, Marks, Phase, ReadingKind, Step, StepKind, TargetSource, store,
};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::MethodId;
use crate::logbook::{self, Author, Entry};
use crate::science::stored::{Millimetres, Minutes};
use crate::science::strength::{Basis, Strength};
use crate::text::{Name, Note};

pub const CODE: &str = "FD-1";
const NAME: &str = "Peroxide clean-out of media beds";
const WHY: &str = "Comes with Slackwater. Before it is used, write the next version: the working strength from the label of your product or from an adviser, and your own limits.";

/// Writes the method as version 1.
pub async fn install(tx: &mut WriteTx, author: &Author, now: Moment) -> anyhow::Result<MethodId> {
    let name = Name::parse(NAME).map_err(anyhow::Error::msg)?;
    let why = Note::parse(WHY).map_err(anyhow::Error::msg)?;
    let contents = contents()?;
    let id = store::insert_method(tx, CODE, &name).await?;
    store::insert_version(tx, id, 1, &contents, &why, None, now).await?;
    let entry = Entry::about("method", id.get(), format!("{CODE} version 1"), "written")
        .with(serde_json::json!({ "why": WHY }));
    logbook::write(tx, author, entry, now).await?;
    Ok(id)
}

/// What it asks for.
pub fn contents() -> anyhow::Result<Contents> {
    let minutes = [
        (Phase::Strip, 40),
        (Phase::Wash, 50),
        (Phase::Dose, 40),
        (Phase::Soak, 190),
        (Phase::Rinse, 85),
        (Phase::Teardown, 35),
        (Phase::Refit, 15),
        (Phase::Check, 25),
    ];
    let phases = minutes
        .into_iter()
        .map(|(phase, minutes)| Ok((phase, Minutes::new(minutes)?)))
        .collect::<anyhow::Result<Vec<_>>>()?;
    let mut steps = Vec::new();
    for (phase, drafts) in phases_and_steps() {
        for draft in drafts {
            steps.push(draft.step(steps.len() as i64 + 1, phase)?);
        }
    }
    Ok(Contents {
        target: Strength::new(3.0, Basis::PercentWv)?,
        target_source: TargetSource::None,
        target_reference: String::new(),
        soak: Minutes::new(SOAK)?,
        rinses_at_least: 2,
        rinse_from: Minutes::new(RINSE)?,
        rinse_to: Minutes::new(60)?,
        cover: Millimetres::new(10)?,
        phases,
        steps,
        limits: limits(),
    })
}

const SOAK: i64 = 180;
const RINSE: i64 = 30;

fn limits() -> Vec<Limit> {
    let limit = |reading, at_least_milli, at_most_milli, why: &str| Limit {
        reading,
        at_least_milli,
        at_most_milli,
        why: why.to_owned(),
    };
    vec![
        limit(
            ReadingKind::Peroxide,
            None,
            Some(5_000),
            "Lettuce seedlings were harmed from 8 mg/L on. Use a strip that shows 5 mg/L and less.",
        ),
        limit(
            ReadingKind::Ph,
            Some(5_500),
            Some(7_500),
            "Fresh water before nutrients. Common practice, no source: set it to your water and crop.",
        ),
        limit(
            ReadingKind::Ec,
            None,
            Some(1_000),
            "Fresh water before nutrients. Common practice, no source: set it a little above your own water.",
        ),
    ]
}

/// A step as it is written here: what it says, then what else it is.
struct Draft {
    text: &'static str,
    caution: &'static str,
    kind: StepKind,
    least: Least,
    two_people: bool,
    reading: Option<ReadingKind>,
    minutes: Option<i64>,
    marks: Marks,
}

impl Draft {
    fn step(self, no: i64, phase: Phase) -> anyhow::Result<Step> {
        Ok(Step {
            no,
            phase,
            kind: self.kind,
            text: self.text.to_owned(),
            caution: self.caution.to_owned(),
            least: self.least,
            two_people: self.two_people,
            reading: self.reading,
            minutes: self.minutes.map(Minutes::new).transpose()?,
            marks: self.marks,
            agent: None,
        })
    }

    fn by(self, least: Least) -> Self {
        Self { least, ..self }
    }

    fn marks(self, marks: Marks) -> Self {
        Self { marks, ..self }
    }

    fn two_people(self) -> Self {
        Self {
            two_people: true,
            ..self
        }
    }

    fn warns(self, caution: &'static str) -> Self {
        Self { caution, ..self }
    }
}

fn tick(text: &'static str) -> Draft {
    Draft {
        text,
        caution: "",
        kind: StepKind::Tick,
        least: Least::Anybody,
        two_people: false,
        reading: None,
        minutes: None,
        marks: Marks::Nothing,
    }
}

fn read(what: ReadingKind, text: &'static str) -> Draft {
    Draft {
        kind: StepKind::Reading,
        reading: Some(what),
        ..tick(text)
    }
}

fn timed(minutes: i64, text: &'static str) -> Draft {
    Draft {
        kind: StepKind::Timed,
        minutes: Some(minutes),
        ..tick(text)
    }
}

fn pours(text: &'static str) -> Draft {
    Draft {
        kind: StepKind::Pours,
        ..tick(text)
    }
    .by(Least::Concentrate)
}

fn phases_and_steps() -> Vec<(Phase, Vec<Draft>)> {
    vec![
        (Phase::Strip, strip()),
        (Phase::Wash, wash()),
        (Phase::Dose, dose()),
        (Phase::Soak, soak()),
        (Phase::Rinse, rinse()),
        (Phase::Teardown, teardown()),
        (Phase::Refit, refit()),
        (Phase::Check, check()),
    ]
}

fn strip() -> Vec<Draft> {
    vec![
        tick("Crop, nets and labels out of the bench"),
        tick("Roots and debris sieved out of the media")
            .warns("What is left of the roots uses up the peroxide before it works."),
        tick("Fill, drain and overflow ports clear"),
    ]
}

fn wash() -> Vec<Draft> {
    vec![
        tick("Reservoir emptied to the permitted outlet").by(Least::Adult),
        tick("Reservoir and bench scrubbed, rinsed until the water runs clear").warns(
            "Plastic brushes only: rust and metal swarf break peroxide down. Rinse all cleaner out before the dose.",
        ),
    ]
}

fn dose() -> Vec<Draft> {
    vec![
        tick("Clean-out riser fitted on every bench that needs one")
            .by(Least::Adult)
            .marks(Marks::RiserOn)
            .warns("Temporary: it raises the flood level. It must be off again before the release."),
        tick("Protection on, eyewash in reach, vents open, nobody else near")
            .by(Least::Concentrate)
            .warns(
                "Goggles under a face shield, long gloves of PVC, butyl or chloroprene, apron. Eyewash within ten seconds, tried today. Air moving before, during and after.",
            ),
        read(ReadingKind::Litres, "Purified water in, as much as the dose sheet says")
            .by(Least::Adult)
            .warns("Distilled or reverse-osmosis water. Metals and dirt in other water break peroxide down."),
        pours("Every pour of the dose sheet, into the water, pump running")
            .two_people()
            .warns(
                "Concentrate into water, never water into concentrate. Slowly, by the return. Nothing goes back into the can. Never near bleach, acid, ammonia, metal, rags or wood. Eyes: water for 30 minutes; skin: 15 minutes; then call.",
            ),
        read(ReadingKind::Temperature, "Temperature of the mixed solution")
            .by(Least::Adult)
            .warns("Rising by itself, foaming or hissing: leave, keep everybody out, cool from a distance with water, call the fire service."),
        tick("Air stones and small parts laid into the reservoir")
            .by(Least::Adult)
            .warns("Goggles and gloves. No bare metal parts."),
    ]
}

fn soak() -> Vec<Draft> {
    vec![
        tick("Flooded to the riser: every bit of media is under water")
            .by(Least::Adult)
            .warns("Media that floats or stands dry is not cleaned. Top up with the same solution, or weigh it down."),
        timed(SOAK, "Recirculated; level, leaks, heat and foam looked at")
            .by(Least::Adult)
            .marks(Marks::Soak)
            .warns("Vents open, people out except to look. Heat or foam: leave, cool from a distance with water, call the fire service."),
    ]
}

fn rinse() -> Vec<Draft> {
    vec![
        tick("Solution drained to the permitted outlet")
            .by(Least::Adult)
            .warns("Goggles and gloves. Never to the ground, a ditch or a pond. Where the drain may not take it, hold it until a strip reads low."),
        tick("Filter bag on the pump or on the drain line"),
        timed(RINSE, "First rinse, recirculated, media worked over the drain port")
            .marks(Marks::Rinse)
            .warns("Goggles and gloves: the first rinse still carries peroxide."),
        tick("Drained, filter bag emptied"),
        timed(RINSE, "Second rinse, fresh water, media worked again").marks(Marks::Rinse),
        read(ReadingKind::Peroxide, "Strip in the rinse water, then drained")
            .warns("Above the limit: rinse once more and read again."),
    ]
}

fn teardown() -> Vec<Draft> {
    vec![
        tick("Clean-out riser off every bench")
            .by(Least::Adult)
            .marks(Marks::RiserOff),
        tick("Pump unplugged and apart; impeller, screen, seals brushed")
            .by(Least::Electrics)
            .warns(
                "Plug out first, with dry hands, and kept where it cannot be put back by mistake.",
            ),
        tick("Tubing and fittings brushed through"),
        tick("Reservoir scrubbed with cleaner, rinsed").warns(
            "Mild cleaner only. Never bleach, acid or ammonia: with peroxide left they react.",
        ),
    ]
}

fn refit() -> Vec<Draft> {
    vec![
        tick("Pump, tubing, filter and air stones back; nothing drips")
            .by(Least::Electrics)
            .warns("Plug in last, with dry hands; the cable hangs in a loop below its socket."),
        tick("Overflow at its growing height, no riser left in").by(Least::Adult),
    ]
}

fn check() -> Vec<Draft> {
    vec![
        tick("Fresh water in, circulated 10 minutes, before nutrients").marks(Marks::FreshFill),
        read(
            ReadingKind::FloodSeconds,
            "Seconds from pump on to the overflow running",
        ),
        read(ReadingKind::Peroxide, "Residual peroxide by strip")
            .warns("Note the lot and the expiry of the strip. Above the limit: rinse again."),
        read(ReadingKind::Ph, "pH of the fresh fill"),
        read(ReadingKind::Ec, "EC of the fresh fill"),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_fits_a_card_and_takes_a_day() {
        let contents = contents().unwrap();
        assert_eq!(contents.steps.len(), 30);
        assert_eq!(contents.length().unwrap().get(), 480);
        for step in &contents.steps {
            assert!(step.text.chars().count() <= 70, "{}", step.text);
        }
    }

    #[test]
    fn concentrate_and_pumps_are_for_those_who_hold_the_skill() {
        let contents = contents().unwrap();
        for step in &contents.steps {
            if step.kind == StepKind::Pours {
                assert!(step.least == Least::Concentrate && step.two_people);
            }
            if step.text.contains("Pump unplugged") {
                assert_eq!(step.least, Least::Electrics);
            }
            // From the first pour until the strong solution is drained, nothing is for minors.
            if matches!(step.phase, Phase::Dose | Phase::Soak) {
                assert_ne!(step.least, Least::Anybody, "{}", step.text);
            }
        }
    }
}
