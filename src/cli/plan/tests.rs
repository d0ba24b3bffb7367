#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

use super::file::{PlanFile, ProblemFile};
use super::*;
use crate::planner::{Budget, Proof, Pumpkin, Search, prove};
use clap::Parser;

const C12: &str = include_str!("../../../tests/reference/planner/c12.json");
const C24: &str = include_str!("../../../tests/reference/planner/c24.json");

#[derive(Debug, Parser)]
struct Line {
    #[command(flatten)]
    args: Args,
}

fn problem(text: &str) -> Problem {
    serde_json::from_str::<ProblemFile>(text)
        .unwrap()
        .parse()
        .unwrap()
}

/// A folder of one test, with the problem c12 in it.
struct Desk(PathBuf);

impl Desk {
    fn new(name: &str) -> Self {
        let folder =
            std::env::temp_dir().join(format!("slackwater-plan-{name}-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        fs::write(folder.join("c12.json"), C12).unwrap();
        Self(folder)
    }

    fn path(&self, name: &str) -> String {
        self.0.join(name).display().to_string()
    }

    fn run(&self, words: &[&str]) -> (String, anyhow::Result<ExitCode>) {
        let problem = self.path("c12.json");
        let line = ["plan", &problem].into_iter().chain(words.iter().copied());
        let mut said = Vec::new();
        let done = run(&Line::try_parse_from(line).unwrap().args, &mut said);
        (String::from_utf8(said).unwrap(), done)
    }
}

impl Drop for Desk {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// The plan after some steps of search, and what is proved of it then.
fn proved(problem: &Problem, steps: u32) -> Proof {
    let mut search = Search::new(problem, 1);
    for _ in 0..steps {
        search.step();
    }
    let budget = Budget {
        steps: 40_000,
        stop: &|| false,
    };
    prove(problem, &search.best(), &Pumpkin, budget).unwrap()
}

#[test]
fn the_least_costs_that_were_proved_elsewhere_are_proved_here() {
    for (text, least) in [(C12, 14407), (C24, 813)] {
        let problem = problem(text);
        let proof = proved(&problem, 200);
        assert!(proof.proved, "{} {}", proof.cost, proof.bound);
        assert_eq!(proof.cost, least);
        assert_eq!(verify(&problem, &proof.plan).unwrap().cost, least);
    }
}

#[test]
fn a_plan_is_written_and_holds_when_checked_and_repeats() {
    let desk = Desk::new("written");
    let (one, two) = (desk.path("one.json"), desk.path("two.json"));
    let (said, done) = desk.run(&[
        "--iterations",
        "40",
        "--seed",
        "7",
        "--explain",
        "--out",
        &one,
    ]);
    assert_eq!(done.unwrap(), ExitCode::SUCCESS);
    assert!(
        said.contains("first plan after") && said.contains("is late by"),
        "{said}"
    );
    desk.run(&["--iterations", "40", "--seed", "7", "--out", &two])
        .1
        .unwrap();
    assert_eq!(fs::read(&one).unwrap(), fs::read(&two).unwrap());
    let (said, done) = desk.run(&["--verify", &one]);
    assert_eq!(done.unwrap(), ExitCode::SUCCESS, "{said}");
    assert!(said.contains("every rule holds"));
}

#[test]
fn a_plan_that_was_tampered_with_does_not_pass() {
    let desk = Desk::new("tampered");
    let path = desk.path("plan.json");
    desk.run(&["--iterations", "5", "--out", &path]).1.unwrap();
    let mut plan: PlanFile = serde_json::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
    plan.cost -= 1;
    plan.jobs[0].people.dose = vec!["nobody".to_owned()];
    plan.jobs[1].strip += 4000;
    fs::write(&path, serde_json::to_string(&plan).unwrap()).unwrap();
    let (said, done) = desk.run(&["--verify", &path]);
    assert_eq!(done.unwrap(), ExitCode::FAILURE);
    assert!(
        said.contains("the problem knows no person nobody"),
        "{said}"
    );
    assert!(said.contains("after the horizon"), "{said}");
}

#[test]
fn an_earlier_plan_that_still_holds_is_kept() {
    let desk = Desk::new("kept");
    let (one, two) = (desk.path("one.json"), desk.path("two.json"));
    desk.run(&["--iterations", "40", "--out", &one]).1.unwrap();
    let words = [
        "--iterations",
        "0",
        "--from",
        &one,
        "--moves",
        "0",
        "--out",
        &two,
    ];
    let (said, done) = desk.run(&words);
    done.unwrap();
    let moved = said.matches("another day").count();
    assert!(
        moved == 1 && said.contains("moved to another day 0 jobs"),
        "{said}"
    );
    let read =
        |path| -> PlanFile { serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap() };
    assert_eq!(read(&one).cost, read(&two).cost);
}

#[test]
fn a_file_that_is_no_problem_is_refused_with_its_name() {
    let desk = Desk::new("refused");
    fs::write(desk.path("c12.json"), "{}").unwrap();
    let (_, done) = desk.run(&["--out", "nowhere"]);
    let words = format!("{:#}", done.unwrap_err());
    assert!(words.contains("c12.json is not a problem file"), "{words}");
    fs::write(
        desk.path("c12.json"),
        C12.replacen("\"room\": 0", "\"room\": 99", 1),
    )
    .unwrap();
    let (_, done) = desk.run(&["--out", "nowhere"]);
    let words = format!("{:#}", done.unwrap_err());
    assert!(words.contains("its room does not exist"), "{words}");
}
