//! Rinses, worked out with their range.

use uom::si::f64::MassConcentration;
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::ratio::ratio;

use super::answer::{Answer, OnField, Refusal, whole};
use super::inputs::Inputs;
use crate::science::quantity::{in_litres, litres};
use crate::science::rinse::{RINSES_WORTH_PLANNING, RinseOutlook, Rinsing, left_by_flush};
use crate::science::show;
use crate::science::uncertainty::propagate;

pub(super) fn rinse(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let fill = inputs.volume("fill")?;
    let mixes = inputs.number("mixes")?;
    let rinsing = Rinsing::new(
        inputs.concentration("start")?,
        inputs.concentration("fresh")?,
        inputs.volume("retained")?,
        fill,
        mixes,
    )
    .on("start")?;
    let limit = inputs.concentration("limit")?;
    answer.number(
        "carried_over",
        rinsing.carried_over().get::<ratio>(),
        "{retained} ÷ ({retained} + {fill})",
    );
    if let Some(exact) = rinsing.needed_exactly(limit) {
        answer.number(
            "rinses_exact",
            exact,
            "ln(({start} − {fresh}) ÷ ({limit} − {fresh})) ÷ −ln(1 − {mixes} + {mixes} × {carried_over})",
        );
    }
    match rinsing.needed(limit).on("limit")? {
        RinseOutlook::Expected(estimate) | RinseOutlook::TooMany(estimate) => {
            let rinses = estimate.rinses;
            let working = match answer.number_of("rinses_exact") {
                Some(_) => "{=rinses_exact}, rounded up",
                None if rinses == 0 => "{=start} is no more than {=limit}: none",
                None => "nothing is carried over: one",
            };
            answer.number("rinses", f64::from(rinses), working);
            answer.number(
                "residual_mg_per_l",
                estimate.residual.milligrams_per_litre(),
                format!("{{fresh}} + ({{start}} − {{fresh}}) × (1 − {{mixes}} + {{mixes}} × {{carried_over}})^{rinses}"),
            );
            rinse_ranges(inputs, rinses, answer)?;
            answer.number(
                "water_l",
                in_litres(estimate.water),
                format!(
                    "{} × {} L",
                    estimate.rinses,
                    show::figures(in_litres(fill), 4)
                ),
            );
            if estimate.rinses > RINSES_WORTH_PLANNING {
                answer.caution("So many rinses are no plan: replace the media.");
            }
        }
        RinseOutlook::FreshWaterTooStrong => {
            answer.none(
                "rinses",
                "the fresh water itself holds as much as the limit allows",
            );
        }
    }
    match rinsing.flush_water(limit) {
        Some(water) => answer.number(
            "flush_l",
            in_litres(water),
            "({retained} + {fill}) × ln(({start} − {fresh}) ÷ ({limit} − {fresh}))",
        ),
        None => answer.none("flush_l", "no flush gets there either"),
    }
    if let Some(rinses) = inputs.maybe("rinses") {
        let after = rinsing.after(whole(rinses, "rinses")?);
        answer.number(
            "after_mg_per_l",
            after.milligrams_per_litre(),
            "{fresh} + ({start} − {fresh}) × (1 − {mixes} + {mixes} × {carried_over})^{rinses}",
        );
    }
    if inputs.maybe("flush").is_some() {
        let system = inputs.volume("retained")? + fill;
        let left = left_by_flush(inputs.volume("flush")?, system).on("flush")?;
        answer.number(
            "flush_left",
            left.get::<ratio>(),
            "exp(−{flush} ÷ ({retained} + {fill}))",
        );
    }
    Ok(())
}

/// Between what the residual after those rinses lies, and how many rinses might be needed.
fn rinse_ranges(inputs: &Inputs<'_>, rinses: u32, answer: &mut Answer) -> Result<(), Refusal> {
    if !answer.wants_ranges() {
        return Ok(());
    }
    let (fresh, limit) = (
        inputs.concentration("fresh")?,
        inputs.concentration("limit")?,
    );
    let figures: Vec<_> = ["start", "retained", "fill", "mixes"]
        .into_iter()
        .filter_map(|key| inputs.off(key))
        .collect();
    let rinsing = |x: &[f64]| match x {
        [start, retained, fill, mixes] => Rinsing::new(
            MassConcentration::new::<milligram_per_liter>(*start),
            fresh,
            litres(*retained),
            litres(*fill),
            mixes.min(1.0),
        )
        .on("start"),
        _ => Err("The rinse has four figures").whole(),
    };
    let left = propagate(&figures, |x| {
        Ok::<_, Refusal>(rinsing(x)?.after(rinses).milligrams_per_litre())
    })?;
    answer.range("residual_mg_per_l", &left);
    let exact = propagate(&figures, |x| {
        rinsing(x)?
            .needed_exactly(limit)
            .ok_or("None is needed")
            .whole()
    });
    if let (Ok(exact), Ok(fill)) = (exact, inputs.number("fill")) {
        let (least, most) = (
            exact.value - exact.expanded(),
            exact.value + exact.expanded(),
        );
        let (least, most) = (least.ceil().max(0.0), most.ceil());
        answer.between("rinses", least, most, &exact);
        answer.between("water_l", least * fill, most * fill, &exact);
    }
    Ok(())
}
