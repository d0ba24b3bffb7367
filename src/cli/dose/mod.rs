//! `slackwater dose`: one dose, worked out on the command line from what is typed.

mod json;
mod text;

use std::io::Write;
use std::process::ExitCode;

use crate::science::dilution::{
    self, AlreadyThere, DoseAsk, DoseRefusal, DoseTolerances, Jug, OwnTolerance, Stock, StockAge,
    SystemVolume,
};
use crate::science::parse::{self, ParseError};
use crate::science::peroxide::YearlyLoss;
use crate::science::quantity::{Volume, WaterTemperature, litres};
use crate::science::strength::Strength;
use crate::science::units::{TemperatureUnit, Units, VolumeUnit};

/// What a refusal ends with, so that a script can tell it from a failure.
const REFUSED: u8 = 2;

/// Options of `slackwater dose`. Volumes take mL, L, m3, US gal, imp gal, US fl oz or imp fl oz, and
/// litres when no unit stands there; strengths take % w/w, % w/v, vol, g/L, mg/L or ppm.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Strength of the concentrate as its label says, with its basis: "35 % w/w"
    #[arg(long)]
    pub stock: String,
    /// Latest titration of the concentrate; it wins over the label
    #[arg(long)]
    pub assay: Option<String>,
    /// Days since the label or the assay was true; 2 % a year is taken off, as an estimate
    #[arg(long, value_name = "DAYS")]
    pub age_days: Option<String>,
    /// Working strength with its basis: "3 % w/v"
    #[arg(long)]
    pub target: String,
    /// What the whole system holds when it is flooded: "180 L"
    #[arg(long)]
    pub volume: String,
    /// The volume comes from a metered fill
    #[arg(long)]
    pub measured: bool,
    /// Temperature of the liquids in °C, 0 to 40
    #[arg(long, default_value = "20")]
    pub celsius: String,
    /// Water that the pump leaves in the reservoir
    #[arg(long)]
    pub heel: Option<String>,
    /// Water that the drained media hold back
    #[arg(long)]
    pub retained: Option<String>,
    /// Peroxide in the water already there, by a strip: "5 mg/L"
    #[arg(long)]
    pub residual: Option<String>,
    /// Top mark of the measuring jug
    #[arg(long)]
    pub jug: Option<String>,
    /// How far its marks are apart
    #[arg(long, default_value = "50 mL")]
    pub marks: String,
    /// What the reservoir takes to its full mark; the mix comes in batches when it is too small
    #[arg(long)]
    pub reservoir: Option<String>,
    /// The strongest solution that the product's label or the site permits
    #[arg(long)]
    pub permitted: Option<String>,
    /// How far the volume may be off either way, in percent; usually 2 when measured and 10 when not
    #[arg(long, value_name = "PERCENT")]
    pub volume_off: Option<String>,
    /// How far the strength of the stock may be off either way, in percent of it
    #[arg(long, value_name = "PERCENT")]
    pub stock_off: Option<String>,
    /// Units of the answer
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric)]
    pub units: UnitsArg,
    /// Answer with one JSON object; the unit of each number stands at the end of its key
    #[arg(long)]
    pub json: bool,
}

/// The choice of units, as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum UnitsArg {
    /// Litres, kilograms, °C
    Metric,
    /// US gallons, pounds, °F
    Us,
    /// Imperial gallons, pounds, °C
    Imperial,
}

impl From<UnitsArg> for Units {
    fn from(units: UnitsArg) -> Self {
        match units {
            UnitsArg::Metric => Self::Metric,
            UnitsArg::Us => Self::Us,
            UnitsArg::Imperial => Self::Imperial,
        }
    }
}

/// Why there is no answer: the option that has to change, if it is one, and the reason in words.
#[derive(Debug, PartialEq)]
struct Complaint {
    option: Option<&'static str>,
    code: &'static str,
    words: String,
}

/// Works out a dose and writes it. Refusals go to `err` and end with 2.
///
/// # Errors
/// Only when nothing can be written.
pub fn run(args: &Args, out: &mut impl Write, err: &mut impl Write) -> anyhow::Result<ExitCode> {
    let answer =
        ask(args).and_then(|ask| dilution::dose(&ask).map_err(|refusal| vec![refused(&refusal)]));
    match answer {
        Ok(sheet) if args.json => json::write(&sheet, out)?,
        Ok(sheet) => text::write(&sheet, args.units.into(), out)?,
        Err(complaints) => {
            if args.json {
                json::write_refusal(&complaints, err)?;
            } else {
                text::write_refusal(&complaints, err)?;
            }
            return Ok(ExitCode::from(REFUSED));
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn refused(refusal: &DoseRefusal) -> Complaint {
    Complaint {
        option: None,
        code: refusal.code(),
        words: refusal.to_string(),
    }
}

/// Gathers the complaints about all options, so that they come at once.
#[derive(Default)]
struct Complaints(Vec<Complaint>);

impl Complaints {
    fn take<T, E: std::fmt::Display>(
        &mut self,
        option: &'static str,
        read: Result<T, E>,
    ) -> Option<T> {
        read.map_err(|error| {
            self.0.push(Complaint {
                option: Some(option),
                code: "not_readable",
                words: error.to_string(),
            });
        })
        .ok()
    }

    fn strength(&mut self, option: &'static str, text: &str) -> Option<Strength> {
        self.take(option, parse::strength(text, None))
    }

    fn volume(&mut self, option: &'static str, text: &str) -> Option<Volume> {
        self.take(option, parse::volume(text, Some(VolumeUnit::Litre)))
    }

    /// Percent of something, 0 to 50, as a part of it.
    fn part(&mut self, option: &'static str, text: &str) -> Option<f64> {
        let percent = parse::decimal(text.trim().trim_end_matches('%').trim_end())
            .map_err(|error| error.to_string())
            .and_then(|percent| match percent {
                0.0..=50.0 => Ok(percent / 100.0),
                _ => Err("must lie from 0 to 50 %".to_owned()),
            });
        self.take(option, percent)
    }

    /// An option that may be absent: nothing is no complaint.
    fn maybe<T>(
        &mut self,
        text: Option<&String>,
        read: impl FnOnce(&mut Self, &str) -> Option<T>,
    ) -> Option<T> {
        text.and_then(|text| read(self, text))
    }
}

fn ask(args: &Args) -> Result<DoseAsk, Vec<Complaint>> {
    let mut complaints = Complaints::default();
    let label = complaints.strength("--stock", &args.stock);
    let assay = complaints.maybe(args.assay.as_ref(), |c, text| c.strength("--assay", text));
    let age = complaints.maybe(args.age_days.as_ref(), |c, text| {
        let days = c.take("--age-days", parse::decimal(text))?;
        Some(StockAge {
            days,
            loss: YearlyLoss::USUAL,
        })
    });
    let target = complaints.strength("--target", &args.target);
    let volume = complaints.volume("--volume", &args.volume);
    let temperature = complaints.take("--celsius", temperature(&args.celsius));
    let mut water = |option, text: &Option<String>| {
        complaints
            .maybe(text.as_ref(), |c, text| c.volume(option, text))
            .unwrap_or(litres(0.0))
    };
    let heel = water("--heel", &args.heel);
    let retained = water("--retained", &args.retained);
    let residual = complaints
        .maybe(args.residual.as_ref(), |c, text| {
            c.strength("--residual", text)
        })
        .unwrap_or(Strength::NONE);
    let jug = complaints.maybe(args.jug.as_ref(), |c, text| {
        let top = c.volume("--jug", text)?;
        let mark = c.volume("--marks", &args.marks)?;
        c.take("--jug", Jug::new(top, mark))
    });
    let reservoir = complaints.maybe(args.reservoir.as_ref(), |c, text| {
        let capacity = c.volume("--reservoir", text)?;
        let room = (capacity > heel).then(|| capacity - heel);
        c.take(
            "--reservoir",
            room.ok_or("The heel fills the reservoir: no room is left for a mix"),
        )
    });
    let permitted = complaints.maybe(args.permitted.as_ref(), |c, text| {
        c.strength("--permitted", text)
    });
    let volume_off = complaints.maybe(args.volume_off.as_ref(), |c, text| {
        c.part("--volume-off", text)
    });
    let stock_off = complaints.maybe(args.stock_off.as_ref(), |c, text| {
        c.part("--stock-off", text)
    });
    match (label, target, volume, temperature) {
        (Some(label), Some(target), Some(volume), Some(temperature)) if complaints.0.is_empty() => {
            let system = if args.measured {
                SystemVolume::measured(volume)
            } else {
                SystemVolume::entered(volume)
            };
            let mut ask = DoseAsk::new(Stock { label, assay, age }, target, system, temperature);
            ask.already = AlreadyThere {
                heel,
                retained,
                residual,
            };
            ask.jug = jug;
            ask.batch_room = reservoir;
            ask.limits.target = permitted;
            ask.tolerances = Some(tolerances(&system, volume_off, stock_off));
            Ok(ask)
        }
        _ => Err(complaints.0),
    }
}

/// The usual tolerances, with those in their place that the person asking knows better.
fn tolerances(
    system: &SystemVolume,
    volume_off: Option<f64>,
    stock_off: Option<f64>,
) -> DoseTolerances {
    const HOW: &str = "as entered";
    DoseTolerances {
        stock: stock_off.map(|half_width| OwnTolerance {
            half_width,
            how: HOW.to_owned(),
        }),
        ..match volume_off {
            Some(part) => DoseTolerances::of_volume(system, part, HOW),
            None => DoseTolerances::usual(system),
        }
    }
}

fn temperature(text: &str) -> Result<WaterTemperature, ParseError> {
    let read = parse::temperature(text, Some(TemperatureUnit::Celsius))?;
    Ok(WaterTemperature::try_from(read)?)
}

#[cfg(test)]
mod tests;
