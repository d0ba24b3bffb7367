//! How long the planner takes, and how good its plans are beside what is known of the same problems.
//!
//! `cargo bench --bench planner`; with `-- long` a minute for each problem where it is ten seconds otherwise; with
//! `-- sixty` only twenty problems of 60 jobs beside an outside solver, and the spread of costs over seeds.
//! Nothing here fails: machines differ, so what has a goal is printed as a ratio to it, and a cost as a ratio
//! to the cost in `tests/reference/planner/known.csv`.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark that cannot read its problems is none, and ratios are printed"
)]

use std::time::{Duration, Instant};

use slackwater::cli::plan::file::ProblemFile;
use slackwater::planner::{
    Earlier, Effort, Keep, Outcome, Problem, explain, first_plan, improve, repair,
};

/// Goals in milliseconds: a first plan of so many jobs, a repair, an explanation.
const FIRST: [(usize, f64); 3] = [(60, 10.0), (300, 50.0), (2000, 500.0)];
const REPAIR: f64 = 20.0;
const EXPLAIN: f64 = 1_000.0;

fn main() {
    // A run of the tests calls this too, with arguments of its own.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    let told = |word| std::env::args().any(|argument| argument == word);
    let long = told("long");
    let farms = ["c12", "c24", "c60", "c300"].map(|name| (name.to_owned(), read(name)));
    if told("sixty") {
        sixty();
        seeds(&farms[2..]);
        return;
    }
    first_plans(&farms);
    repairs(&farms[3].1);
    explanations(&farms);
    small(if long { 10.0 } else { 1.0 });
    quality(
        &farms,
        if long {
            &[1.0, 10.0, 60.0]
        } else {
            &[1.0, 10.0]
        },
    );
}

/// Where the problems stand.
fn folder() -> String {
    format!("{}/tests/reference/planner", env!("CARGO_MANIFEST_DIR"))
}

fn parse(text: &str) -> Problem {
    serde_json::from_str::<ProblemFile>(text)
        .unwrap()
        .parse()
        .unwrap()
}

fn read(name: &str) -> Problem {
    parse(&std::fs::read_to_string(format!("{}/{name}.json", folder())).unwrap())
}

/// What is known of a problem: the least cost, and whether it is proved.
fn known(name: &str) -> (f64, bool) {
    let text = std::fs::read_to_string(format!("{}/known.csv", folder())).unwrap();
    let line = text
        .lines()
        .find(|line| line.split(',').next() == Some(name))
        .unwrap();
    let mut fields = line.split(',').skip(2);
    let cost = fields.next().unwrap().parse().unwrap();
    (cost, fields.next() == Some("proved"))
}

/// The same farm so many times one after the other, with as many jobs as asked for.
fn repeated(problem: &Problem, jobs: usize) -> Problem {
    let mut whole = problem.clone();
    let times = jobs.div_ceil(problem.jobs.len());
    for time in 1..times {
        let later = problem.horizon * u32::try_from(time).unwrap();
        for (person, own) in whole.people.iter_mut().zip(&problem.people) {
            person.shifts.extend(own.shifts.iter().map(|shift| {
                let mut shift = *shift;
                shift.span.from += later;
                shift.span.to += later;
                shift
            }));
        }
        for (room, own) in whole.rooms.iter_mut().zip(&problem.rooms) {
            room.occupied.extend(own.occupied.iter().map(|span| {
                let mut span = *span;
                span.from += later;
                span.to += later;
                span
            }));
        }
        for (stock, own) in whole.stocks.iter_mut().zip(&problem.stocks) {
            let come: i64 = own.deliveries.iter().map(|one| one.ml).sum();
            stock.deliveries.push(slackwater::planner::Delivery {
                slot: later,
                ml: own.initial_ml + come,
            });
        }
        whole.jobs.extend(problem.jobs.iter().map(|job| {
            let mut job = job.clone();
            job.id += &format!("-{time}");
            job.release += later;
            job.due += later;
            job.hard_due += later;
            job
        }));
    }
    whole.horizon *= u32::try_from(times).unwrap();
    whole.jobs.truncate(jobs);
    whole.check().unwrap()
}

fn milliseconds(took: Duration) -> f64 {
    took.as_secs_f64() * 1_000.0
}

/// The median and the greatest of some times.
fn spread(mut times: Vec<f64>) -> (f64, f64) {
    times.sort_by(f64::total_cmp);
    (times[times.len() / 2], times[times.len() * 99 / 100])
}

fn first_plans(farms: &[(String, Problem)]) {
    println!("\nfirst plan: jobs, median of 9 in ms, ms a job, ratio to the goal");
    let large = repeated(&farms[3].1, 2_000);
    let problems = farms.iter().map(|farm| &farm.1).chain([&large]);
    for problem in problems {
        let times = (0..9).map(|_| {
            let begun = Instant::now();
            std::hint::black_box(first_plan(problem));
            milliseconds(begun.elapsed())
        });
        let (median, _) = spread(times.collect());
        let jobs = problem.jobs.len();
        let goal = FIRST.iter().find(|goal| goal.0 == jobs);
        let ratio = goal.map_or(String::new(), |goal| format!("{:8.2}", median / goal.1));
        println!(
            "{jobs:6} {median:10.2} {:9.4} {ratio}",
            median / jobs as f64
        );
    }
}

/// One job after another comes off a day later, in the plan of a whole season.
fn repairs(problem: &Problem) {
    let plan = first_plan(problem);
    let held = |plan| Earlier {
        plan,
        keep: Keep {
            worth: 192,
            most: 3,
        },
        pinned: &[],
    };
    let mut times = Vec::new();
    let mut moved = 0;
    for index in 0..100 {
        let mut changed = problem.clone();
        let job = &mut changed.jobs[index * 3];
        job.release = (job.release + problem.day()).min(job.hard_due - 1);
        let begun = Instant::now();
        let repaired = repair(&changed, held(&plan)).unwrap();
        times.push(milliseconds(begun.elapsed()));
        moved = moved.max(repaired.moved);
    }
    let (median, worst) = spread(times);
    println!(
        "\nrepair of {} jobs after one change, 100 times",
        problem.jobs.len()
    );
    println!(
        "median {median:.2} ms, 99 of 100 within {worst:.2} ms, {:.2} of the goal",
        worst / REPAIR
    );
    println!("most jobs moved to another day {moved}");
}

fn explanations(farms: &[(String, Problem)]) {
    println!("\nexplanation: jobs, reasons, ms a reason, ratio to the goal");
    for (_, problem) in farms {
        let plan = first_plan(problem);
        let begun = Instant::now();
        let reasons = explain(problem, &plan).len();
        let each = milliseconds(begun.elapsed()) / reasons.max(1) as f64;
        println!(
            "{:6} {reasons:6} {each:10.2} {:8.3}",
            problem.jobs.len(),
            each / EXPLAIN
        );
    }
}

fn asked(problem: &Problem, seconds: f64, proof: u64) -> Outcome {
    let effort = Effort {
        number: 1,
        steps: u64::MAX,
        threads: 2,
        proof,
    };
    with(problem, seconds, effort)
}

fn with(problem: &Problem, seconds: f64, effort: Effort) -> Outcome {
    let begun = Instant::now();
    let stop = || begun.elapsed().as_secs_f64() >= seconds;
    improve(problem, None, effort, &stop, &mut |_| {}).unwrap()
}

/// Problems of 12 to 24 jobs: how many reach the least cost, how many are proved.
fn small(proof: f64) {
    let text = std::fs::read_to_string(format!("{}/small.jsonl", folder())).unwrap();
    let (mut best, mut near, mut proved, mut later, mut count) = (0, 0, 0, 0, 0);
    for (index, line) in text.lines().enumerate() {
        let problem = parse(line);
        let (least, _) = known(&format!("small-{}", index + 1));
        let outcome = asked(&problem, 1.0, 1);
        let cost = outcome.best.reckoned.cost as f64;
        count += 1;
        best += i32::from(cost <= least);
        near += i32::from(cost <= least * 1.01);
        proved += i32::from(outcome.bound.proved);
        if proof > 1.0 {
            later += i32::from(outcome.bound.proved || asked(&problem, proof, 1).bound.proved);
        }
    }
    println!(
        "\n{count} problems of 12 to 24 jobs after 1 s: {best} at the least cost known, {near} within 1 %, {proved} proved"
    );
    if proof > 1.0 {
        println!("proved after {proof} s: {later}");
    }
}

fn quality(farms: &[(String, Problem)], seconds: &[f64]) {
    println!(
        "\ncost: problem, seconds, with the prover and ratio to what is known, without it and ratio"
    );
    for (name, problem) in farms {
        let (least, proved) = known(name);
        for &seconds in seconds {
            let with = asked(problem, seconds, 1);
            let without = asked(problem, seconds, 0);
            let cost = |outcome: &Outcome| outcome.best.reckoned.cost as f64;
            let words = if with.bound.proved {
                "proved best".to_owned()
            } else {
                format!("bound {}", with.bound.cost)
            };
            println!(
                "{name:6} {seconds:4} {:9} {:6.3} {:9} {:6.3}  {words}{}",
                cost(&with),
                cost(&with) / least,
                cost(&without),
                cost(&without) / least,
                if proved {
                    ", known to be the least"
                } else {
                    ""
                },
            );
        }
    }
}

/// The search alone, on one thread.
fn searched(problem: &Problem, seconds: f64, number: u64) -> f64 {
    let effort = Effort {
        number,
        steps: u64::MAX,
        threads: 1,
        proof: 0,
    };
    with(problem, seconds, effort).best.reckoned.cost as f64
}

/// Twenty problems of 60 jobs, ten seconds on one thread, beside an outside solver's 60 s on one.
fn sixty() {
    println!("\n60 jobs, one thread: problem, ours in 10 s, the outside solver in 60 s, ratio");
    let problems = std::fs::read_to_string(format!("{}/sixty.jsonl", folder())).unwrap();
    let outside = std::fs::read_to_string(format!("{}/sixty.csv", folder())).unwrap();
    let (mut count, mut not_worse) = (0, 0);
    for (line, beside) in problems.lines().zip(outside.lines().skip(1)) {
        let mut fields = beside.split(',');
        let name = fields.next().unwrap();
        let theirs: f64 = fields.next().unwrap().parse().unwrap();
        let ours = searched(&parse(line), 10.0, 1);
        count += 1;
        not_worse += i32::from(ours <= theirs);
        println!("{name:>6} {ours:9} {theirs:9} {:7.3}", ours / theirs);
    }
    println!("not worse: {not_worse} of {count}");
}

/// How much hangs on the seed: ten seconds on one thread from each of five.
fn seeds(farms: &[(String, Problem)]) {
    println!("\nten seconds from each of five seeds, beside what is known: problem, median, worst");
    for (name, problem) in farms {
        let (least, _) = known(name);
        let mut ratios = Vec::from_iter((1..=5).map(|seed| searched(problem, 10.0, seed) / least));
        ratios.sort_by(f64::total_cmp);
        println!("{name:6} {:7.3} {:7.3}", ratios[2], ratios[4]);
    }
}
