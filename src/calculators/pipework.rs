//! Calculators of what stands behind the tubing: water, friction factors, fittings, the rule of
//! Hazen and Williams for comparison.

use uom::si::dynamic_viscosity::millipascal_second;
use uom::si::length::{meter, millimeter};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::pressure::kilopascal;

use super::answer::{Answer, OnField, Refusal};
use super::calculator::{ANY, CELSIUS, Calculator, gives, must, or};
use super::flows::{BORE, FLOW};
use super::inputs::Inputs;
use super::kind::Kind;
use super::off::part;
use super::question::Question;
use crate::science::fitting::{Fitting, K_SOURCE, barb_k, step_k};
use crate::science::friction::{
    HazenWilliams, Regime, blasius, churchill, colebrook, friction_factor, haaland, swamee_jain,
};
use crate::science::pipe::Run;
use crate::science::quantity::{OutOfRange, in_millimetres};
use crate::science::tolerances::{BORE as TOLERANCE_OF_BORE, FITTINGS_K};
use crate::science::uncertainty::{Budget, Input};
use crate::science::vapour::water_pressure;
use crate::science::viscosity::Liquid;

/// What each fitting is called by.
const FITTINGS: [(&str, Fitting); 15] = [
    ("entrance_flush", Fitting::EntranceFlush),
    ("entrance_standing_in", Fitting::EntranceStandingIn),
    ("entrance_rounded", Fitting::EntranceRounded),
    ("exit", Fitting::Exit),
    ("elbow_90_threaded", Fitting::Elbow90Threaded),
    ("elbow_90_long", Fitting::Elbow90Long),
    ("elbow_45", Fitting::Elbow45),
    ("return_bend", Fitting::ReturnBend),
    ("tee_run", Fitting::TeeRun),
    ("tee_branch", Fitting::TeeBranch),
    ("union", Fitting::Union),
    ("ball_valve", Fitting::BallValve),
    ("gate_valve", Fitting::GateValve),
    ("globe_valve", Fitting::GlobeValve),
    ("swing_check", Fitting::SwingCheck),
];
const FITTING_WORDS: [&str; 15] = {
    let mut words = [""; 15];
    let mut place = 0;
    while place < words.len() {
        words[place] = FITTINGS[place].0;
        place += 1;
    }
    words
};

pub static ALL: &[Calculator] = &[
    Calculator {
        name: "water",
        says: "Density, viscosity and vapour pressure of water",
        asks: Question::Conversions,
        headlines: &[
            "A cubic metre weighs {density_kg_per_m3}; the viscosity is {viscosity_mpa_s}.",
        ],
        sources: &[
            "Density: Kell, 1975",
            "Viscosity: IAPWS R12-08 (coefficients from memory, held to published values)",
            "Vapour pressure: IAPWS SR1-86, after Wagner and Pruss (coefficients from memory)",
        ],
        inputs: &[CELSIUS],
        outputs: &[
            gives("density_kg_per_m3", Kind::Number("kg/m³"), "density"),
            gives(
                "viscosity_mpa_s",
                Kind::Number("mPa·s"),
                "dynamic viscosity",
            ),
            gives(
                "kinematic_mm2_per_s",
                Kind::Number("mm²/s"),
                "kinematic viscosity",
            ),
            gives("vapour_kpa", Kind::Number("kPa"), "vapour pressure"),
        ],
        cautions: &[],
        example: &["celsius=20"],
        run: water,
    },
    Calculator {
        name: "friction-factor",
        says: "Darcy friction factor at a Reynolds number, by each published formula",
        asks: Question::Pump,
        headlines: &["The friction factor is {factor}, {regime}."],
        sources: &[
            "Colebrook, J. ICE, 1939; Haaland, J. Fluids Eng., 1983; Swamee and Jain, ASCE, 1976; Churchill, Chem. Eng., 1977; Blasius, 1913",
        ],
        inputs: &[
            must(
                "reynolds",
                Kind::Number(""),
                (1.0, 1e8),
                "Reynolds number: velocity × bore × density ÷ viscosity",
            ),
            or(
                "relative_roughness",
                Kind::Number(""),
                "0",
                (0.0, 0.05),
                "roughness ÷ bore; 0 is smooth",
            ),
        ],
        outputs: &[
            gives("factor", Kind::Number(""), "what is reckoned with here"),
            gives("regime", Kind::Words, "how it flows"),
            gives("laminar", Kind::Number(""), "64 ÷ Re"),
            gives("colebrook", Kind::Number(""), "Colebrook, 1939"),
            gives("haaland", Kind::Number(""), "Haaland, 1983"),
            gives("swamee_jain", Kind::Number(""), "Swamee and Jain, 1976"),
            gives("churchill", Kind::Number(""), "Churchill, 1977"),
            gives("blasius", Kind::Number(""), "Blasius, 1913, smooth tube"),
        ],
        cautions: &[],
        example: &["reynolds=22000", "relative_roughness=0.00008"],
        run: factors,
    },
    Calculator {
        name: "fitting",
        says: "What a fitting costs, as K to add to the sum of a run",
        asks: Question::Pump,
        headlines: &["It counts as K = {k}."],
        sources: &["Textbook loss table, from memory, ±30 %"],
        inputs: &[
            must("fitting", Kind::Choice(&FITTING_WORDS), ANY, "the fitting"),
            or(
                "count",
                Kind::Number(""),
                "1",
                (1.0, 100.0),
                "how many of them",
            ),
        ],
        outputs: &[
            gives("k", Kind::Number(""), "K of them all").ranged(),
            gives("what", Kind::Words, "what it is"),
        ],
        cautions: &["Textbook values, from memory, ±30 %."],
        example: &["fitting=elbow_90_threaded", "count=3"],
        run: fitting,
    },
    Calculator {
        name: "barb",
        says: "What a narrow barb costs, as K of its tube",
        asks: Question::Pump,
        headlines: &["The barb counts as K = {k}."],
        sources: &["Sudden contraction and expansion (Borda-Carnot): textbook, from memory, ±30 %"],
        inputs: &[
            must("barb", Kind::Length, (2.0, 200.0), "bore of the barb")
                .off(part(TOLERANCE_OF_BORE)),
            must("bore", Kind::Length, (2.0, 200.0), "bore of the tube")
                .off(part(TOLERANCE_OF_BORE)),
        ],
        outputs: &[
            gives("k", Kind::Number(""), "K to add to the sum of the run"),
            gives(
                "narrowing",
                Kind::Number(""),
                "into the barb, by the velocity in it",
            ),
            gives(
                "narrowing_later",
                Kind::Number(""),
                "the same by a later fit (Rennels and Hudson)",
            ),
            gives(
                "widening",
                Kind::Number(""),
                "out of it, by the velocity in it",
            ),
        ],
        cautions: &["Textbook values, from memory, ±30 %."],
        example: &["barb=12.7", "bore=19.05"],
        run: barb,
    },
    Calculator {
        name: "hazen-williams",
        says: "What the Hazen-Williams rule states for a pipe, beside the loss that is reckoned here",
        asks: Question::Pump,
        headlines: &["The rule states {head_mm} where {darcy_mm} are lost."],
        sources: &[
            "Hazen and Williams, in the forms of water supply (SI) and of fire and irrigation practice (US)",
            "Beside it: Darcy-Weisbach with Colebrook",
        ],
        inputs: &[
            FLOW,
            BORE,
            or(
                "tube",
                Kind::Length,
                "1 m",
                (0.0, 200_000.0),
                "length of the tube",
            ),
            or(
                "c",
                Kind::Number(""),
                "150",
                (50.0, 160.0),
                "smoothness C; 150 for new plastic",
            ),
            CELSIUS,
        ],
        outputs: &[
            gives("head_mm", Kind::Length, "lost by the rule, in its SI form"),
            gives(
                "psi_per_ft",
                Kind::Number("psi/ft"),
                "lost by the rule, in its US form",
            ),
            gives("darcy_mm", Kind::Length, "lost by Darcy-Weisbach"),
            gives("part", Kind::Number(""), "the rule over Darcy-Weisbach"),
        ],
        cautions: &[
            "For comparison only: under 50 mm the rule states too little loss, a tenth as a rule and a quarter at worst. Choose no pump by it.",
        ],
        example: &["flow=10", "bore=16"],
        run: by_rule,
    },
];

fn water(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let t = inputs.water("celsius")?;
    let water = Liquid::water(t);
    let density = water.density().get::<kilogram_per_cubic_meter>();
    let viscosity = water.viscosity().get::<millipascal_second>();
    answer.number("density_kg_per_m3", density, "Kell, 1975, at {=celsius}");
    answer.number("viscosity_mpa_s", viscosity, "IAPWS R12-08, at {=celsius}");
    answer.number(
        "kinematic_mm2_per_s",
        viscosity / density * 1000.0,
        "{viscosity_mpa_s:viscosity} ÷ {density_kg_per_m3:density}",
    );
    answer.number(
        "vapour_kpa",
        water_pressure(t).get::<kilopascal>(),
        "IAPWS SR1-86, at {=celsius}",
    );
    Ok(())
}

fn factors(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (re, e) = (
        inputs.number("reynolds")?,
        inputs.number("relative_roughness")?,
    );
    let (factor, regime) = friction_factor(re, e).on("reynolds")?;
    let used = match regime {
        Regime::Laminar => "64 ÷ {reynolds}",
        _ => "Colebrook at Re {=reynolds}, roughness ÷ bore {=relative_roughness}",
    };
    answer.number("factor", factor, used);
    answer.words("regime", regime.word());
    let laminar = match regime {
        Regime::Laminar => "64 ÷ {reynolds}",
        _ => "64 ÷ {reynolds}, if the flow were laminar, which it is not",
    };
    answer.number("laminar", 64.0 / re, laminar);
    let formulas: [(&'static str, Result<f64, OutOfRange>); 5] = [
        ("colebrook", colebrook(re, e)),
        ("haaland", haaland(re, e)),
        ("swamee_jain", swamee_jain(re, e)),
        ("churchill", churchill(re, e)),
        ("blasius", blasius(re)),
    ];
    for (key, formula) in formulas {
        match formula {
            Ok(f) => answer.number(
                key,
                f,
                "its formula at Re {=reynolds} and {=relative_roughness}",
            ),
            Err(_) => answer.none(key, "not at this Reynolds number"),
        }
    }
    Ok(())
}

fn fitting(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let word = inputs.choice("fitting")?;
    let (_, fitting) = FITTINGS
        .iter()
        .find(|(known, _)| *known == word)
        .ok_or("Give one of the fittings")
        .on("fitting")?;
    let count = inputs.number("count")?;
    let each = fitting.k();
    answer.number("k", each * count, format!("{each} × {{count}}; {K_SOURCE}"));
    let k = Input::within(
        "K of the fitting",
        FITTINGS_K.of_it(),
        each * count,
        each * count * FITTINGS_K.half_width,
    );
    answer.range("k", &Budget::of(k));
    answer.words("what", fitting.words());
    Ok(())
}

fn barb(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (barb, bore) = (inputs.length("barb")?, inputs.length("bore")?);
    answer.number(
        "k",
        barb_k(barb, bore).on("barb")?,
        "({narrowing} + {widening}) ÷ ({barb} ÷ {bore})⁴",
    );
    let step = step_k(barb, bore).on("barb")?;
    answer.number(
        "narrowing",
        step.narrowing,
        "0.5 × (1 − ({barb} ÷ {bore})²)",
    );
    answer.number(
        "narrowing_later",
        step.narrowing_later,
        "the later fit, of {=barb} ÷ {=bore}",
    );
    answer.number("widening", step.widening, "(1 − ({barb} ÷ {bore})²)²");
    Ok(())
}

fn by_rule(inputs: &Inputs<'_>, answer: &mut Answer) -> Result<(), Refusal> {
    let (flow, length) = (inputs.flow("flow")?, inputs.length("tube")?);
    let bore = inputs.length("bore")?;
    let rule = HazenWilliams::new(bore, inputs.number("c")?).on("bore")?;
    let head = rule.head(flow, length).on("flow")?;
    answer.number(
        "head_mm",
        in_millimetres(head),
        "10.67 × {tube} × {flow}^1.852 ÷ ({c}^1.852 × {bore}^4.8704), in m and m³/s",
    );
    answer.number(
        "psi_per_ft",
        rule.psi_per_foot(flow).on("flow")?,
        "4.52 × {flow}^1.85 ÷ ({c}^1.85 × {bore}^4.87), in US gal/min and in",
    );
    let water = Liquid::water(inputs.water("celsius")?);
    let run = Run::new(bore, length, 0.0).on("bore")?;
    let loss = run.loss(flow, &water).on("flow")?.head();
    answer.number(
        "darcy_mm",
        loss.get::<millimeter>(),
        "{=flow} through {=tube} of {=bore}, with Colebrook at {=celsius}",
    );
    if loss.get::<meter>() > 0.0 {
        answer.number(
            "part",
            (head / loss).value,
            "{head_mm:rule} ÷ {darcy_mm:Darcy-Weisbach}",
        );
    } else {
        answer.none("part", "nothing is lost");
    }
    Ok(())
}
