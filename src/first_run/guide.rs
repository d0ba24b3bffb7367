//! The way from an empty register to the first dose sheet, in eight steps. Nothing of it is stored:
//! what is done is seen from what the register holds, so it can be left and taken up again.

use std::sync::Arc;

use sqlx::SqliteConnection;

use crate::cleanouts;
use crate::crew::{Role, Who};
use crate::crops::{self, Stage};
use crate::ids::{CleanoutId, PlantingId, SystemId};
use crate::register::store::{benches, jugs, pumps, reservoirs, rooms, systems, tubing};
use crate::state::App;
use crate::stock;
use crate::web::{GuideStep, Section};

/// What the guide looks at.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Found {
    pub room: Option<String>,
    pub system: Option<(SystemId, String)>,
    pub reservoir: bool,
    pub benches: usize,
    pub pump: bool,
    pub tubing: bool,
    pub product: Option<String>,
    pub lot: Option<String>,
    pub jug: Option<String>,
    /// A planting on the system that has a day on which it comes off.
    pub planting: Option<(PlantingId, String)>,
    /// A clean-out that was proposed and is not dosed yet.
    pub cleanout: Option<(CleanoutId, String)>,
}

/// How a step stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stands {
    Done,
    /// It may be left out, and something after it was entered.
    LeftOut,
    Open,
}

/// One step, with what to measure and why.
#[derive(Clone, Debug)]
pub struct Step {
    pub no: usize,
    pub section: Section,
    pub name: &'static str,
    /// What to have at hand or to measure.
    pub measure: &'static str,
    pub why: &'static str,
    pub stands: Stands,
    /// What the register holds of it.
    pub holds: String,
    /// The form that does it. None while an earlier step has to come first.
    pub form: Option<String>,
    /// What the button says that leads to the form.
    pub act: &'static str,
    pub may_be_left_out: bool,
}

impl Step {
    pub fn is_open(&self) -> bool {
        self.stands == Stands::Open
    }
}

/// The steps in their order.
pub fn steps(found: &Found) -> Vec<Step> {
    let system = found.system.as_ref();
    let of_system = |path: &str| system.map(|(id, _)| format!("/systems/{id}/{path}"));
    let named = |name: &Option<String>| name.clone().unwrap_or_default();
    let stands = |done: bool| if done { Stands::Done } else { Stands::Open };
    let stock_begun = found.product.is_some() || found.planting.is_some();
    let plumbed = found.pump && found.tubing;
    vec![
        Step {
            no: 1,
            section: Section::Systems,
            name: "The room",
            measure: "Length, width and height of the room, if you know them; the rest can wait.",
            why: "Concentrate is poured there: the air in the room decides how much vapour stands in it.",
            stands: stands(found.room.is_some()),
            holds: named(&found.room),
            form: Some("/rooms/new".to_owned()),
            act: "Enter the room",
            may_be_left_out: false,
        },
        Step {
            no: 2,
            section: Section::Systems,
            name: "The system and its reservoir",
            measure: "What the reservoir holds to the brim, and what stays in it after the pump sucks air. Inside length and width, if its walls are straight.",
            why: "A system is one water loop: it is dosed as one. What stays in the reservoir thins the dose, so it is counted. A usual figure is marked as one until you measure.",
            stands: stands(found.reservoir),
            holds: system.map(|(_, name)| name.clone()).unwrap_or_default(),
            form: match system {
                None => found.room.as_ref().map(|_| "/systems/new".to_owned()),
                Some(_) => of_system("reservoirs/new"),
            },
            act: if system.is_none() {
                "Enter the system"
            } else {
                "Enter the reservoir"
            },
            may_be_left_out: false,
        },
        Step {
            no: 3,
            section: Section::Systems,
            name: "The bench",
            measure: "With a folding rule: length and width inside, height of the wall and of the overflow, depth of the media. All heights go up from the lowest point of the floor.",
            why: "They give the water the bench holds, and show whether all media gets wet. What the media drains and holds back stands there as a usual figure; a bucket test replaces it.",
            stands: stands(found.benches > 0),
            holds: match found.benches {
                0 => String::new(),
                1 => "one bench".to_owned(),
                n => format!("{n} benches"),
            },
            form: of_system("benches/new"),
            act: "Enter the bench",
            may_be_left_out: false,
        },
        Step {
            no: 4,
            section: Section::Systems,
            name: "The pump and the tubing",
            measure: "The pump's name and its greatest flow and lift, from its plate. Bore and length of each tube.",
            why: "Full tubes hold water too, and the overflow has to take what the pump brings. You can go on without and add them later.",
            stands: match (plumbed, stock_begun) {
                (true, _) => Stands::Done,
                (false, true) => Stands::LeftOut,
                (false, false) => Stands::Open,
            },
            holds: match (found.pump, found.tubing) {
                (true, true) => "pump and tubing".to_owned(),
                (true, false) => "the pump".to_owned(),
                (false, true) => "tubing".to_owned(),
                (false, false) => String::new(),
            },
            form: of_system(if found.pump {
                "tubing/new"
            } else {
                "pumps/new"
            }),
            act: if found.pump {
                "Enter the tubing"
            } else {
                "Enter the pump"
            },
            may_be_left_out: true,
        },
        Step {
            no: 5,
            section: Section::Stock,
            name: "The concentrate",
            measure: "The label: name, strength with its basis (% w/w, % w/v, vol or g/L), lot number. How much is there, and since when.",
            why: "The basis changes the dose: 35 % w/w is not 35 % w/v. It stands on the label or in the safety data sheet; where it does not, ask the supplier before anything is poured.",
            stands: stands(found.lot.is_some()),
            holds: [&found.product, &found.lot]
                .into_iter()
                .flatten()
                .cloned()
                .collect::<Vec<_>>()
                .join(", lot "),
            form: Some(
                if found.product.is_none() {
                    "/stock/products/new"
                } else {
                    "/stock/receive"
                }
                .to_owned(),
            ),
            act: if found.product.is_none() {
                "Enter the product"
            } else {
                "Enter the lot"
            },
            may_be_left_out: false,
        },
        Step {
            no: 6,
            section: Section::Systems,
            name: "The measuring jug",
            measure: "What the jug holds and how far apart its marks are.",
            why: "The dose is split into pours: none is larger than the jug, and each ends on a mark that can be read.",
            stands: stands(found.jug.is_some()),
            holds: named(&found.jug),
            form: Some("/jugs/new".to_owned()),
            act: "Enter the jug",
            may_be_left_out: false,
        },
        Step {
            no: 7,
            section: Section::Turnovers,
            name: "What grows, and when it comes off",
            measure: "The crop, the day it comes off, the day the next one goes on.",
            why: "The clean-out has to fit between the two.",
            stands: stands(found.planting.is_some()),
            holds: found
                .planting
                .as_ref()
                .map(|(_, crop)| crop.clone())
                .unwrap_or_default(),
            form: found
                .benches
                .gt(&0)
                .then(|| system.map(|(id, _)| format!("/turnovers/new?system={id}")))
                .flatten(),
            act: "Enter the planting",
            may_be_left_out: false,
        },
        Step {
            no: 8,
            section: Section::Cleanouts,
            name: "The first dose sheet",
            measure: "Nothing more: choose the lot, the jug and the working strength, and where that strength comes from.",
            why: "The dose sheet shows every line: the water in the system, what is in it already, the pours. Nothing is issued by this; you can change all of it.",
            stands: Stands::Open,
            holds: found
                .cleanout
                .as_ref()
                .map(|(_, number)| number.clone())
                .unwrap_or_default(),
            form: found
                .cleanout
                .as_ref()
                .map(|(id, _)| format!("/clean-outs/{id}")),
            act: if found.cleanout.is_some() {
                "Choose lot, jug and strength"
            } else {
                "Propose the clean-out"
            },
            may_be_left_out: false,
        },
    ]
}

/// The step that comes next: the first that is open.
pub fn next(steps: &[Step]) -> Option<&Step> {
    steps.iter().find(|step| step.is_open())
}

/// What is shown of the open steps on the pages of their sections; `path` is the page that is asked.
pub fn strips(steps: &[Step], path: &str) -> Vec<GuideStep> {
    let of = steps.len();
    steps
        .iter()
        .filter(|step| step.is_open())
        .map(|step| GuideStep {
            section: step.section,
            no: step.no,
            of,
            name: step.name,
            measure: step.measure,
            why: step.why,
            form: step.form.clone(),
            act: step.act,
            here: step.form.as_deref().is_some_and(|form| is_form(form, path)),
            onward: steps
                .iter()
                .filter(|later| step.may_be_left_out && later.no > step.no && later.is_open())
                .find_map(|later| later.form.clone()),
        })
        .collect()
}

/// Whether a page is a form, or the same form come back from where it is sent to.
fn is_form(form: &str, path: &str) -> bool {
    let form = form.split('?').next().unwrap_or(form);
    form.trim_end_matches("/new") == path.trim_end_matches("/new")
}

/// The open steps for whoever runs the site, told on the page that is asked.
pub async fn of(app: &App, who: &Who, path: &str) -> anyhow::Result<Arc<[GuideStep]>> {
    if !who.is_at_least(Role::Coordinator) {
        return Ok(Arc::default());
    }
    let mut conn = app.db.read().await?;
    let found = look(&mut conn).await?;
    Ok(found.map_or_else(Arc::default, |found| strips(&steps(&found), path).into()))
}

/// What the register holds, or nothing once a first dose has been worked: then nobody is guided.
pub async fn look(conn: &mut SqliteConnection) -> anyhow::Result<Option<Found>> {
    if cleanouts::store::any_dosed(conn).await? {
        return Ok(None);
    }
    let mut found = Found {
        cleanout: cleanouts::store::first_open(conn).await?,
        room: rooms::all(conn)
            .await?
            .into_iter()
            .find(|room| !room.retired)
            .map(|room| room.figures.name.to_string()),
        jug: jugs::all(conn)
            .await?
            .into_iter()
            .find(|jug| !jug.retired)
            .map(|jug| jug.figures.name.to_string()),
        product: stock::store::products(conn)
            .await?
            .into_iter()
            .find(|product| !product.retired && product.is_peroxide())
            .map(|product| product.name.to_string()),
        lot: stock::store::with_balance(conn)
            .await?
            .into_iter()
            .find(|lot| lot.withdrawn.is_none() && lot.is_peroxide())
            .map(|lot| lot.code),
        ..Found::default()
    };
    // The oldest system in use is the one that is led to its first dose.
    if let Some((id, name)) = systems::oldest(conn).await? {
        let reservoirs = reservoirs::of(conn, Some(id)).await?;
        found.reservoir = reservoirs.iter().any(|reservoir| !reservoir.retired);
        let benches = benches::of(conn, Some(id)).await?;
        found.benches = benches.iter().filter(|bench| !bench.retired).count();
        let pumps = pumps::of(conn, Some(id)).await?;
        found.pump = pumps.iter().any(|pump| !pump.retired);
        let tubing = tubing::of(conn, Some(id)).await?;
        found.tubing = tubing.iter().any(|run| !run.retired);
        found.planting = crops::store::of_system(conn, id)
            .await?
            .into_iter()
            .find(|planting| planting.stage != Stage::Off && planting.turnover_on.is_some())
            .map(|planting| (planting.id, planting.crop.to_string()));
        found.system = Some((id, name.to_string()));
    }
    Ok(Some(found))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn open(found: &Found) -> Option<usize> {
        next(&steps(found)).map(|step| step.no)
    }

    #[test]
    fn each_thing_entered_leads_to_the_next_step() {
        let mut found = Found::default();
        assert_eq!(open(&found), Some(1));
        found.room = Some("North bay".to_owned());
        assert_eq!(open(&found), Some(2));
        found.system = Some((SystemId::from_row(3), "North 2".to_owned()));
        let at_reservoir = steps(&found);
        let step = next(&at_reservoir).unwrap();
        assert_eq!((step.no, step.act), (2, "Enter the reservoir"));
        found.reservoir = true;
        assert_eq!(open(&found), Some(3));
        found.benches = 1;
        assert_eq!(open(&found), Some(4));
        found.pump = true;
        let at_tubing = steps(&found);
        assert_eq!(next(&at_tubing).unwrap().act, "Enter the tubing");
        found.tubing = true;
        found.product = Some("Peroxide 35".to_owned());
        let at_lot = steps(&found);
        assert_eq!(next(&at_lot).unwrap().act, "Enter the lot");
        found.lot = Some("A17".to_owned());
        assert_eq!(open(&found), Some(6));
        found.jug = Some("2 L jug".to_owned());
        assert_eq!(open(&found), Some(7));
        found.planting = Some((PlantingId::from_row(1), "Pak choi".to_owned()));
        assert_eq!(open(&found), Some(8));
    }

    #[test]
    fn the_pump_may_be_left_out_and_is_then_not_asked_again() {
        let mut found = Found {
            room: Some("North bay".to_owned()),
            system: Some((SystemId::from_row(3), "North 2".to_owned())),
            reservoir: true,
            benches: 1,
            ..Found::default()
        };
        let strip = strips(&steps(&found), "/systems").remove(0);
        assert_eq!(strip.no, 4);
        assert_eq!(strip.onward.as_deref(), Some("/stock/products/new"));
        found.product = Some("Peroxide 35".to_owned());
        assert_eq!(open(&found), Some(5));
        assert_eq!(steps(&found)[3].stands, Stands::LeftOut);
    }

    #[test]
    fn no_form_is_offered_before_what_it_needs() {
        let empty = steps(&Found::default());
        let offered: Vec<usize> = empty
            .iter()
            .filter(|step| step.form.is_some())
            .map(|step| step.no)
            .collect();
        assert_eq!(offered, [1, 5, 6]);
        assert!(
            empty
                .iter()
                .all(|step| step.no <= 8 && !step.measure.is_empty())
        );
    }
}
