//! What the other rooms give a clean-out: volumes from the register, lots from the stock, the crop
//! and the method. Put together they are a dose sheet, or what stands in its way.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::booking::Crew;
use super::card::{FrozenBench, FrozenDose, FrozenJug, FrozenLine, FrozenLot, whole};
use super::dose::{self, Given, Held};
use super::rules::Rules;
use super::{Cleanout, afterwards, clashes, hazards, offers, path, store, water};
use crate::science::dilution::DoseSheet;
use crate::science::flood::MARGIN_OVER_MEDIA_MM;
use crate::science::quantity::{Known, OutOfRange, millimetres};
use crate::science::show;
use crate::science::stored::{Millilitres, Millimetres};
use crate::science::strength::Strength;
use crate::science::units::Units;
use crate::site::{Site, day_words, full_day};
use crate::stock::{self, Lot};
use crate::{crew, methods, register};

/// Something that has to be mended before a card is issued, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Obstacle {
    pub what: String,
    /// What the link says.
    pub mend: &'static str,
    pub href: String,
}

impl Obstacle {
    pub fn new(what: impl Into<String>, mend: &'static str, href: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            mend,
            href: href.into(),
        }
    }
}

/// How far a clean-out is from its card.
#[derive(Clone, Debug)]
pub struct Readiness {
    /// Worked out, unless something stands in its way.
    pub dose: Option<FrozenDose>,
    pub benches: Vec<FrozenBench>,
    /// Empty when the card can be issued.
    pub missing: Vec<Obstacle>,
    /// 'Lot P-118 has 20 L on hand; other open clean-outs take 12 L of it.'
    pub stock: String,
}

/// Looks at everything that a card needs.
pub async fn readiness(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<Readiness> {
    let rules = Rules::of(conn, cleanout).await?;
    let mut missing = booking_missing(cleanout, &rules, today);
    let clashes = clashes::of(conn, cleanout, &rules, site).await?;
    let decided = store::despite(conn, cleanout).await?;
    missing.extend(clashes.obstacles(cleanout, decided.as_ref()));
    let held = held_of(conn, cleanout, site).await?;
    let benches = held
        .as_ref()
        .map(|(_, benches)| benches.clone())
        .unwrap_or_default();
    missing.extend(in_the_water(conn, cleanout, site).await?);
    let given = given_of(conn, cleanout, site, today).await?;
    let jug = jug_of(conn, cleanout).await?;
    let stock = given
        .as_ref()
        .map(|given| stock_words(given, site))
        .unwrap_or_default();
    let dose = match (held, given, jug) {
        (Ok((held, _)), Ok(given), Ok(jug)) => {
            match dose::work_out(
                cleanout,
                &held,
                (given.stock, given.tolerance.clone()),
                &jug,
            ) {
                Ok(sheet) => {
                    missing.extend(short(cleanout, &given, &sheet, site));
                    let day = cleanout.starts_on.max(today);
                    let hazards = hazards::of(conn, site, &sheet, day).await?;
                    let crossed = hazards::class_crossed(conn, site, &sheet, day).await?;
                    let mut dose =
                        dose::freeze(cleanout, &held, &given, &jug, &sheet, hazards, site.units)?;
                    dose.warnings.extend(crossed);
                    dose.warnings.extend(clashes.warnings(decided.as_ref()));
                    afterwards::add(conn, cleanout, &held, &sheet, &mut dose, site).await?;
                    Some(dose)
                }
                Err(no_sheet) => {
                    missing.push(Obstacle::new(
                        format!("{no_sheet}."),
                        "Choose again",
                        format!("{}/choices", cleanout.path()),
                    ));
                    None
                }
            }
        }
        (held, given, jug) => {
            missing.extend(held.err().unwrap_or_default());
            missing.extend(given.err());
            missing.extend(jug.err());
            None
        }
    };
    Ok(Readiness {
        dose,
        benches,
        missing,
        stock,
    })
}

/// What went into the water of the system and must not meet what the method puts in.
async fn in_the_water(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    site: &Site,
) -> anyhow::Result<Option<Obstacle>> {
    let Some(method) = offers::method_of(conn, cleanout.method_version_id).await? else {
        return Ok(None);
    };
    let meeting = water::against(conn, cleanout.system_id, &method.card, site).await?;
    Ok(meeting.map(|meeting| {
        Obstacle::new(
            meeting.words(),
            "See what is in the water, and enter the rinse",
            water::path(cleanout.system_id),
        )
    }))
}

/// Everybody, and every skill.
pub async fn crew_of(conn: &mut SqliteConnection) -> anyhow::Result<Crew> {
    Ok(Crew {
        people: crew::store::all(conn).await?,
        skills: crew::store::skills(conn).await?,
    })
}

/// What is missing in who does it and when.
pub fn booking_missing(cleanout: &Cleanout, rules: &Rules, today: NaiveDate) -> Vec<Obstacle> {
    let mend = |what: String| {
        Obstacle::new(
            what,
            "Change the booking",
            format!("{}/booking", path(cleanout.id)),
        )
    };
    let mut missing = Vec::new();
    if cleanout.starts_on < today {
        missing.push(mend(format!(
            "Its date, {}, is past.",
            day_words(cleanout.starts_on)
        )));
    }
    match cleanout.person_id {
        None => missing.push(Obstacle::new(
            "Nobody is booked.",
            "Book somebody",
            format!("{}/booking", path(cleanout.id)),
        )),
        Some(person) => missing.extend(rules.crew.not_bookable(person).map(mend)),
    }
    match cleanout.pours_id {
        None if cleanout.person_id.is_some() => missing.push(mend(
            "Nobody is named who pours the concentrate: a pour needs an adult who is signed for concentrate.".to_owned(),
        )),
        None => {}
        Some(pours) => missing.extend(rules.not_pouring(pours, cleanout.starts_on).map(mend)),
    }
    let unmet = rules.unmet(cleanout.starts_on).into_iter();
    missing.extend(unmet.map(|what| {
        let href = format!("{}/rules", path(cleanout.id));
        Obstacle::new(what, "See the rules of its steps", href)
    }));
    missing
}

/// What the lot is short of.
fn short(cleanout: &Cleanout, given: &Given, sheet: &DoseSheet, site: &Site) -> Option<Obstacle> {
    let short = dose::short_of(given, sheet)?;
    let v = |volume| show::volume(volume, site.units);
    Some(Obstacle::new(
        format!(
            "Lot {} has {} and the dose takes {}: {} short.",
            given.lot.code,
            v(given.on_hand.volume()),
            v(sheet.stock_drawn()),
            v(short)
        ),
        "Choose another lot",
        format!("{}/choices", cleanout.path()),
    ))
}

fn stock_words(given: &Given, site: &Site) -> String {
    let v = |ml: Millilitres| show::volume(ml.volume(), site.units);
    let elsewhere = match given.needed_elsewhere.get() {
        0 => "no other open clean-out takes any of it".to_owned(),
        _ => format!(
            "other open clean-outs take {} of it",
            v(given.needed_elsewhere)
        ),
    };
    format!(
        "Lot {} has {} on hand; {elsewhere}.",
        given.lot.code,
        v(given.on_hand)
    )
}

/// What the register says that the system holds, with what each bench needs for a clean-out.
pub(super) async fn held_of(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    site: &Site,
) -> anyhow::Result<Result<(Held, Vec<FrozenBench>), Vec<Obstacle>>> {
    let units = site.units;
    let hold = match register::hold::hold_of(conn, cleanout.system_id).await? {
        Ok(hold) => hold,
        Err(not_known) => {
            let href = format!("/systems/{}", cleanout.system_id);
            let obstacles = not_known.reasons().into_iter();
            return Ok(Err(obstacles
                .map(|what| Obstacle::new(what, "Complete the system", href.clone()))
                .collect()));
        }
    };
    let lines = hold.lines(units).into_iter().map(|line| FrozenLine {
        part: VOLUME_PART.to_owned(),
        key: "part".to_owned(),
        label: line.label,
        working: match line.by.as_str() {
            "" => line.working,
            by => by.to_owned(),
        },
        result: show::volume_fixed(line.volume, units, 1),
        known: line.known,
    });
    let mut lines: Vec<FrozenLine> = lines.collect();
    lines.push(FrozenLine {
        part: VOLUME_PART.to_owned(),
        key: "sum".to_owned(),
        label: "Sum of these".to_owned(),
        working: String::new(),
        result: show::volume_fixed(hold.used.computed, units, 1),
        known: Known::Computed,
    });
    if let Some(fill) = &hold.fill {
        lines.push(FrozenLine {
            part: VOLUME_PART.to_owned(),
            key: "fill".to_owned(),
            label: "A fill, measured".to_owned(),
            working: format!(
                "{} {} with what was there, {}, {}",
                show::volume(fill.whole(), units),
                fill.how.words(),
                fill.by,
                full_day(fill.measured_on)
            ),
            result: show::volume_fixed(fill.whole(), units, 1),
            known: Known::Measured,
        });
    }
    let benches = hold
        .benches
        .iter()
        .map(|bench| {
            Ok(FrozenBench {
                name: bench.name.clone(),
                overflow: Millimetres::nearest(bench.overflow)?,
                riser: (bench.riser_needed > millimetres(0.0))
                    .then(|| Millimetres::nearest(bench.riser_needed))
                    .transpose()?,
            })
        })
        .collect::<Result<_, OutOfRange>>()?;
    let remarks = hold.benches.iter().filter_map(|bench| {
        let needed = bench.riser_needed;
        let kept = bench.riser_kept.unwrap_or(millimetres(0.0));
        (needed > kept).then(|| {
            format!(
                "{} needs a clean-out riser of {} so that all its media get wet; {}.",
                bench.name,
                show::length(needed, units),
                match bench.riser_kept {
                    Some(kept) => format!("the one on record is {}", show::length(kept, units)),
                    None => "none is on record".to_owned(),
                }
            )
        })
    });
    let mut remarks: Vec<String> = remarks.collect();
    remarks.extend(cover_apart(conn, cleanout, units).await?);
    remarks.extend(register::checks::overflow_warnings_of(conn, cleanout.system_id, units).await?);
    let held = Held {
        remarks,
        used: hold.volume(),
        range: hold.range.clone(),
        verdict: hold.used.verdict(units),
        too_far_apart: hold.used.too_far_apart,
        already: hold.already_there(cleanout.media_was, Strength::NONE),
        heel: hold.parts.heel,
        retained: hold.parts.retained(),
        lines,
        room: hold.batch_room(),
        plan: hold.reservoir_area,
        drains_back: hold.return_fit(),
    };
    Ok(Ok((held, benches)))
}

/// The register reckons the volume with one height of water over the media; a method may ask for more.
async fn cover_apart(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    units: Units,
) -> anyhow::Result<Option<String>> {
    let reckoned = millimetres(MARGIN_OVER_MEDIA_MM);
    let version = methods::store::version(conn, cleanout.method_version_id).await?;
    let asked = version.map(|version| version.contents.cover.length());
    Ok(asked.filter(|asked| *asked != reckoned).map(|asked| {
        format!(
            "The method asks for {} of water over the media, and the volume is reckoned with {}. Meter a fill to the method's level and enter it.",
            show::length(asked, units),
            show::length(reckoned, units)
        )
    }))
}

/// The heading over how the volume comes about: the first part of the sheet.
const VOLUME_PART: &str = "Volume of the solution";

async fn jug_of(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
) -> anyhow::Result<Result<FrozenJug, Obstacle>> {
    let mend = |what: &str| {
        Err(Obstacle::new(
            what,
            "Choose the jug",
            format!("{}/choices", cleanout.path()),
        ))
    };
    let Some(id) = cleanout.jug_id else {
        return Ok(mend("No measuring jug is chosen."));
    };
    let jugs = register::store::jugs::all(conn).await?;
    let Some(jug) = jugs.into_iter().find(|jug| jug.id == id && !jug.retired) else {
        return Ok(mend("The jug that was chosen is no longer in use."));
    };
    Ok(Ok(FrozenJug::of(&jug)))
}

/// What the stock says of the lot that was chosen.
pub(super) async fn given_of(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<Result<Given, Obstacle>> {
    let mend = |what: String| {
        Err(Obstacle::new(
            what,
            "Choose the lot",
            format!("{}/choices", cleanout.path()),
        ))
    };
    let Some(id) = cleanout.lot_id else {
        return Ok(mend("No lot of concentrate is chosen.".to_owned()));
    };
    let Some(lot) = stock::store::by_id(conn, id).await? else {
        return Ok(mend(
            "The lot that was chosen is not in the stock.".to_owned(),
        ));
    };
    if let Some(why) = lot.unusable(today) {
        return Ok(mend(why));
    }
    let given = match lot.stock(cleanout.starts_on.max(today)) {
        Ok(stock) => stock,
        Err(error) => return Ok(mend(format!("{error}."))),
    };
    Ok(Ok(Given {
        stock: given,
        tolerance: lot.tolerance(),
        lot: FrozenLot {
            id: lot.id,
            code: lot.code.clone(),
            product: lot.product.to_string(),
            label: given.label,
            label_reference: lot.label_reference.clone(),
            label_says: lot.label_says.to_string(),
            reentry: lot.reentry,
            kept_in: lot.place(),
        },
        on_hand: lot.on_hand,
        needed_elsewhere: needed_elsewhere(conn, cleanout, &lot, site, today).await?,
        remark: lot
            .retest_on
            .filter(|due| *due <= cleanout.starts_on.max(today))
            .map(|due| {
                format!(
                    "Lot {} was to be retested by {}. Titrate it before the dose.",
                    lot.code,
                    full_day(due)
                )
            }),
    }))
}

/// What the other open clean-outs still take from a lot.
async fn needed_elsewhere(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    lot: &Lot,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<Millilitres> {
    let mut needed = 0;
    for other in store::open(conn).await? {
        if other.id == cleanout.id || other.lot_id != Some(lot.id) {
            continue;
        }
        needed += still_takes(conn, &other, lot, site, today).await?.get();
    }
    Ok(Millilitres::new(needed)?)
}

/// What an open clean-out still takes from the lot that was chosen for it.
pub async fn still_takes(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    lot: &Lot,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<Millilitres> {
    let whole = match store::card_of(conn, cleanout.id).await? {
        Some(card) => card.dose.poured_when_done().get(),
        None => drawn_by(conn, cleanout, lot, site, today).await?,
    };
    let left = (whole - store::poured(conn, cleanout.id).await?).max(0);
    Ok(Millilitres::new(left)?)
}

/// What a clean-out without a card would draw; nothing while its dose cannot be worked out.
async fn drawn_by(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    lot: &Lot,
    site: &Site,
    today: NaiveDate,
) -> anyhow::Result<i64> {
    let (Ok((held, _)), Ok(jug)) = (
        held_of(conn, cleanout, site).await?,
        jug_of(conn, cleanout).await?,
    ) else {
        return Ok(0);
    };
    let Ok(stock) = lot.stock(cleanout.starts_on.max(today)) else {
        return Ok(0);
    };
    Ok(match dose::work_out(cleanout, &held, (stock, None), &jug) {
        Ok(sheet) => whole(sheet.stock_drawn())?.get(),
        Err(_) => 0,
    })
}
