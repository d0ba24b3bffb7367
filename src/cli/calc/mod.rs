//! `slackwater calc`: every calculator of the science, one at a time, as a list, or by lines.
//!
//! What a calculator takes and gives is declared in [`crate::calculators`]; here is only how it is
//! asked and answered on a command line.

mod lines;
mod text;

use std::io::{BufRead, Write};
use std::process::ExitCode;

pub use lines::answer_line;

use super::dose::UnitsArg;
use crate::calculators::{self, Answer, Calculator, Refusal};

/// What a refusal ends with, so that a script can tell it from a failure.
const REFUSED: u8 = 2;

/// Options of `slackwater calc`.
#[derive(Debug, clap::Args)]
pub struct Args {
    /// Which calculator; --list shows them
    #[arg(required_unless_present_any = ["list", "lines"])]
    name: Option<String>,
    /// Inputs as key=value, for example volume=180 or "volume=40 US gal"
    #[arg(value_name = "KEY=VALUE")]
    inputs: Vec<String>,
    /// Units of the answer
    #[arg(long, value_enum, default_value_t = UnitsArg::Metric)]
    units: UnitsArg,
    /// Show every calculator, or only the one named, with inputs, outputs, units, sources and cautions
    #[arg(long, conflicts_with = "lines")]
    list: bool,
    /// Read one JSON object a line from standard input, {"calc": "dose", ...}, and answer each with
    /// one line: numbers in the unit at the end of their key
    #[arg(long, conflicts_with_all = ["name", "inputs"])]
    lines: bool,
}

/// Runs the command. Refusals go to `err` and end with 2; in lines a refusal is an answer.
///
/// # Errors
/// Only when nothing can be read or written.
pub fn run(
    args: &Args,
    input: impl BufRead,
    out: &mut impl Write,
    err: &mut impl Write,
) -> anyhow::Result<ExitCode> {
    if args.lines {
        lines::answer_all(input, out)?;
        return Ok(ExitCode::SUCCESS);
    }
    let Some(name) = &args.name else {
        text::list(out)?;
        return Ok(ExitCode::SUCCESS);
    };
    let calculator = match calculators::find(name) {
        Ok(calculator) => calculator,
        Err(reason) => {
            writeln!(err, "{reason}")?;
            return Ok(ExitCode::from(REFUSED));
        }
    };
    if args.list {
        text::describe(calculator, out)?;
        return Ok(ExitCode::SUCCESS);
    }
    match work(calculator, &args.inputs) {
        Ok(answer) => text::write(calculator, &answer, args.units.into(), out)?,
        Err(refused) => {
            text::write_refusal(&refused, err)?;
            return Ok(ExitCode::from(REFUSED));
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn work(calculator: &'static Calculator, typed: &[String]) -> Result<Answer, Vec<Refusal>> {
    let pairs: Result<Vec<(&str, &str)>, Vec<Refusal>> = typed
        .iter()
        .map(|word| {
            let (key, value) = word.split_once('=').ok_or_else(|| {
                vec![Refusal {
                    field: None,
                    reason: format!("'{word}' is not key=value"),
                }]
            })?;
            Ok((key.trim(), value))
        })
        .collect();
    calculators::work_typed(calculator, &pairs?)
}

#[cfg(test)]
mod tests;
