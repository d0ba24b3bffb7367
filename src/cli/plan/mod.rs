//! `slackwater plan`: a plan for a problem file, checked before it is written; or the check alone.

pub mod file;

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::{Duration, Instant};

use anyhow::{Context, bail};

use self::file::{PlanFile, ProblemFile};
use crate::planner::{
    Bound, Broken, Earlier, Effort, Keep, Outcome, Problem, Reckoned, Slot, alone, explain, first,
    improve, repair, verify,
};

/// Threads side by side, each with its own chances; fixed, so that a plan does not depend on the machine.
const SIDE_BY_SIDE: u64 = 2;
/// With --iterations the prover takes one step for so many of a search, and never more than these.
const STEPS_A_PROOF: u64 = 250;
const MOST_PROOFS: u64 = 64;
/// A job moves to another day only if that gains as much as a day of one person's overtime.
const WORTH_MOVING: i64 = 96;

#[derive(Debug, clap::Args)]
pub struct Args {
    /// The problem file (JSON)
    problem: PathBuf,
    /// With --verify: the plan file to check
    #[arg(requires = "verify")]
    plan: Option<PathBuf>,
    /// Check a plan against its problem, slot by slot, and make none
    #[arg(long, requires = "plan", conflicts_with_all = ["out", "from", "explain"])]
    verify: bool,
    /// How long to look for a better plan
    #[arg(long, default_value_t = 10.0, conflicts_with = "iterations")]
    seconds: f64,
    /// How many steps each of two searches looks for a better plan: the same steps and seed give the same plan
    #[arg(long)]
    iterations: Option<u64>,
    /// The number that begins the chances taken
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Say why jobs are late or without a place
    #[arg(long)]
    explain: bool,
    /// Keep to an earlier plan
    #[arg(long)]
    from: Option<PathBuf>,
    /// With --from: how many jobs may move to another day, beyond those that have to
    #[arg(long, default_value_t = 3, requires = "from")]
    moves: usize,
    /// Where to write the plan
    #[arg(long, required_unless_present = "verify")]
    out: Option<PathBuf>,
}

/// Makes a plan, or checks one.
pub fn run(args: &Args, out: &mut impl Write) -> anyhow::Result<ExitCode> {
    let problem = read_problem(&args.problem)?;
    match (&args.plan, &args.out) {
        (Some(plan), _) if args.verify => check(&problem, plan, out),
        (_, Some(to)) => make(args, &problem, to, out),
        _ => bail!("say with --out where to write the plan"),
    }
}

fn read_problem(path: &Path) -> anyhow::Result<Problem> {
    let shown = path.display();
    let text = fs::read_to_string(path).with_context(|| format!("{shown} cannot be read"))?;
    let file: ProblemFile =
        serde_json::from_str(&text).with_context(|| format!("{shown} is not a problem file"))?;
    file.parse().map_err(|faults| {
        let words: Vec<String> = faults.iter().map(ToString::to_string).collect();
        anyhow::anyhow!("{shown} cannot be planned:\n  {}", words.join("\n  "))
    })
}

fn read_plan(path: &Path) -> anyhow::Result<PlanFile> {
    let shown = path.display();
    let text = fs::read_to_string(path).with_context(|| format!("{shown} cannot be read"))?;
    serde_json::from_str(&text).with_context(|| format!("{shown} is not a plan file"))
}

fn check(problem: &Problem, plan: &Path, out: &mut impl Write) -> anyhow::Result<ExitCode> {
    let file = read_plan(plan)?;
    let (plan, unknown) = file.parse(problem);
    let mut words: Vec<String> = unknown
        .iter()
        .map(|name| format!("the problem knows no {name}"))
        .collect();
    match verify(problem, &plan) {
        Ok(reckoned) => {
            if reckoned.cost != file.cost {
                words.push(format!(
                    "the cost is {}, and the plan says {}",
                    reckoned.cost, file.cost
                ));
            }
            let least: i64 = alone(problem)
                .iter()
                .flatten()
                .map(|alone| alone.cost)
                .sum();
            if file.proved && reckoned.unplaced == 0 && file.bound > reckoned.cost {
                words.push("its bound is above its cost".to_owned());
            }
            if words.is_empty() {
                report(&reckoned, out)?;
                writeln!(out, "every rule holds; no plan costs less than {least}")?;
                return Ok(ExitCode::SUCCESS);
            }
        }
        Err(broken) => words.extend(broken.iter().map(ToString::to_string)),
    }
    for words in words {
        writeln!(out, "BROKEN  {words}")?;
    }
    Ok(ExitCode::FAILURE)
}

fn make(
    args: &Args,
    problem: &Problem,
    to: &Path,
    out: &mut impl Write,
) -> anyhow::Result<ExitCode> {
    if !(args.seconds.is_finite() && args.seconds >= 0.0) {
        bail!("--seconds must be 0 or more");
    }
    let earlier = match &args.from {
        Some(from) => Some(read_plan(from)?.parse(problem).0),
        None => None,
    };
    let earlier = earlier.as_ref().map(|plan| Earlier {
        plan,
        keep: Keep {
            worth: WORTH_MOVING,
            most: args.moves,
        },
        pinned: &[],
    });
    let begun = Instant::now();
    let (what, at_once) = match earlier {
        None => ("first plan", first(problem)),
        Some(earlier) => ("repaired plan", repair(problem, earlier)),
    };
    let took = begun.elapsed();
    let at_once = at_once.map_err(|broken| does_not_hold(&broken))?;
    writeln!(
        out,
        "{what} after {}: cost {}, {} without a place",
        milliseconds(took),
        at_once.reckoned.cost,
        at_once.reckoned.unplaced
    )?;
    let effort = Effort {
        number: args.seed,
        steps: args.iterations.unwrap_or(u64::MAX),
        threads: SIDE_BY_SIDE,
        proof: args
            .iterations
            .map_or(1, |steps| (steps / STEPS_A_PROOF).min(MOST_PROOFS)),
    };
    let time = Duration::try_from_secs_f64(args.seconds).unwrap_or(Duration::MAX);
    let stop = || args.iterations.is_none() && begun.elapsed() >= time;
    let Outcome { best, bound, steps } = improve(problem, earlier, effort, &stop, &mut |_| {})
        .map_err(|broken| does_not_hold(&broken))?;
    report(&best.reckoned, out)?;
    if earlier.is_some() {
        writeln!(out, "moved to another day {} jobs", best.moved)?;
    }
    writeln!(out, "{}", bound_words(&bound, problem, steps))?;
    if args.explain {
        for reason in explain(problem, &best.plan) {
            writeln!(out, "{}", reason.words(problem))?;
        }
    }
    let file = PlanFile::of(
        problem,
        &best.plan,
        best.reckoned.cost,
        bound.cost,
        bound.proved,
    );
    let mut text = serde_json::to_string(&file)?;
    text.push('\n');
    fs::write(to, text).with_context(|| format!("{} cannot be written", to.display()))?;
    Ok(ExitCode::SUCCESS)
}

/// What is known about how good the plan is.
fn bound_words(bound: &Bound, problem: &Problem, steps: u64) -> String {
    let mut words = if bound.proved {
        format!("proved best, after {steps} steps")
    } else {
        let least = bound.cost;
        format!(
            "best found in {steps} steps; no plan that places every job costs less than {least}"
        )
    };
    let jobs = |count: usize| format!("{count} {}", if count == 1 { "job" } else { "jobs" });
    let late: Slot = bound.late.iter().map(|late| late.1).sum();
    if late > 0 {
        let days = f64::from(late) / f64::from(problem.day());
        let count = jobs(bound.late.len());
        words += &format!("; {days:.1} days late are unavoidable, over {count}");
    }
    if !bound.hopeless.is_empty() {
        words += &format!("; no place in any plan for {}", jobs(bound.hopeless.len()));
    }
    words
}

fn does_not_hold(broken: &[Broken]) -> anyhow::Error {
    let words: Vec<String> = broken.iter().map(Broken::to_string).collect();
    anyhow::anyhow!(
        "the plan does not hold and is not written:\n  {}",
        words.join("\n  ")
    )
}

fn report(reckoned: &Reckoned, out: &mut impl Write) -> std::io::Result<()> {
    writeln!(out, "cost {}", reckoned.cost)?;
    writeln!(
        out,
        "late {} jobs, {} slots in all",
        reckoned.jobs_late, reckoned.slots_late
    )?;
    writeln!(out, "overtime {} slots of one person", reckoned.overtime)?;
    writeln!(out, "without a place {} jobs", reckoned.unplaced)
}

fn milliseconds(took: Duration) -> String {
    format!("{:.1} ms", took.as_secs_f64() * 1000.0)
}

#[cfg(test)]
mod tests;
