//! `slackwater plan`: a plan for a problem file, checked before it is written; or the check alone.

pub mod file;

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::thread;
use std::time::{Duration, Instant};

use anyhow::{Context, bail};

use self::file::{PlanFile, ProblemFile};
use crate::planner::{
    Broken, Keep, Plan, Problem, Reckoned, Search, alone, explain, first_plan, replan, verify,
};

/// Between two looks at the clock.
const STEPS_A_LOOK: u64 = 8;
/// Searches side by side, each with its own chances; fixed, so that a plan does not depend on the machine.
const SIDE_BY_SIDE: u64 = 2;
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
    let begun = Instant::now();
    let mut searches = match &args.from {
        None => {
            let first = first_plan(problem);
            let took = begun.elapsed();
            let reckoned = checked(problem, &first)?;
            writeln!(
                out,
                "first plan after {}: cost {}, {} without a place",
                milliseconds(took),
                reckoned.cost,
                reckoned.unplaced
            )?;
            numbers(args.seed)
                .map(|number| Search::new(problem, number))
                .collect::<Vec<_>>()
        }
        Some(from) => {
            let (earlier, _) = read_plan(from)?.parse(problem);
            let keep = Keep {
                worth: WORTH_MOVING,
                most: args.moves,
            };
            let begun = Instant::now();
            let search = replan(problem, &earlier, keep, args.seed);
            let took = begun.elapsed();
            let reckoned = checked(problem, &search.best())?;
            writeln!(
                out,
                "repaired after {}: cost {}, {} without a place, {} on another day",
                milliseconds(took),
                reckoned.cost,
                reckoned.unplaced,
                search.moved()
            )?;
            let others = numbers(args.seed).skip(1);
            let others = others.map(|number| replan(problem, &earlier, keep, number));
            std::iter::once(search).chain(others).collect()
        }
    };
    let limit = args.iterations.unwrap_or(u64::MAX);
    let time = Duration::try_from_secs_f64(args.seconds).unwrap_or(Duration::MAX);
    let go_on = |steps: u64| {
        let looks = args.iterations.is_none() && steps.is_multiple_of(STEPS_A_LOOK);
        steps < limit && !(looks && begun.elapsed() >= time)
    };
    let steps: u64 = thread::scope(|scope| {
        let running: Vec<_> = searches
            .iter_mut()
            .map(|search| scope.spawn(|| advance(search, go_on)))
            .collect();
        running.into_iter().map(|one| one.join().unwrap_or(0)).sum()
    });
    let Some(search) = searches.iter().min_by_key(|search| search.weight()) else {
        bail!("no search was begun");
    };
    let plan = search.best();
    let reckoned = checked(problem, &plan)?;
    report(&reckoned, out)?;
    if args.from.is_some() {
        writeln!(out, "{} jobs moved to another day", search.moved())?;
    }
    let (bound, proved) = (search.bound(), search.is_proved());
    if proved {
        writeln!(out, "proved best, after {steps} steps")?;
    } else {
        let late = alone(problem)
            .iter()
            .flatten()
            .filter(|alone| alone.late > 0)
            .count();
        writeln!(
            out,
            "best found in {steps} steps; no plan costs less than {bound}, and {late} jobs are late in every plan"
        )?;
    }
    if args.explain {
        for reason in explain(problem, &plan) {
            writeln!(out, "{}", reason.words(problem))?;
        }
    }
    let file = PlanFile::of(problem, &plan, reckoned.cost, bound, proved);
    let mut text = serde_json::to_string(&file)?;
    text.push('\n');
    fs::write(to, text).with_context(|| format!("{} cannot be written", to.display()))?;
    Ok(ExitCode::SUCCESS)
}

/// The numbers that begin the searches side by side.
fn numbers(seed: u64) -> impl Iterator<Item = u64> {
    (0..SIDE_BY_SIDE).map(move |side| seed.wrapping_add(side << 32))
}

/// Steps until told to stop or the plan is proved best; says how many steps that were.
fn advance(search: &mut Search<'_>, go_on: impl Fn(u64) -> bool) -> u64 {
    let mut steps = 0;
    while go_on(steps) && !search.is_proved() {
        search.step();
        steps += 1;
    }
    steps
}

/// No plan leaves here unchecked.
fn checked(problem: &Problem, plan: &Plan) -> anyhow::Result<Reckoned> {
    verify(problem, plan).map_err(|broken| {
        let words: Vec<String> = broken.iter().map(Broken::to_string).collect();
        anyhow::anyhow!(
            "the plan does not hold and is not written:\n  {}",
            words.join("\n  ")
        )
    })
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
