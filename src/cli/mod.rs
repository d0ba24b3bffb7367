//! The commands, one file each.

pub mod calc;
pub mod check;
pub mod crew;
pub mod demo;
pub mod dose;
pub mod import;
pub mod plan;
pub mod serve;

use std::io::Write;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Clean-outs of flood-and-drain systems: what a system holds, the dose, the job, the release, the record
#[derive(Debug, Parser)]
#[command(name = "slackwater", version, about)]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Run the server on the site's own database
    Serve(serve::Args),
    /// Run the server with a site made for trying everything, in a folder of its own
    Demo(demo::Args),
    /// Check the database file and the chain of the logbook
    Check(check::Args),
    /// Help somebody in who can no longer sign in
    Crew(crew::Args),
    /// Take a register and turnovers from CSV files, whole or not at all
    Import(import::Args),
    /// Work out one dose by mass balance, with every line, the pours and the label rule beside it
    Dose(Box<dose::Args>),
    /// Plan clean-outs from a problem file: who does what when, checked before it is written
    Plan(Box<plan::Args>),
    /// Work out one of the other calculators, show what they are, or answer many by JSON lines
    Calc(calc::Args),
}

/// Runs the command that was asked for.
pub fn run() -> ExitCode {
    let done = match Cli::parse().command {
        Command::Serve(args) => serve::run(args),
        Command::Demo(args) => demo::run(args),
        Command::Check(args) => check::run(args, &mut std::io::stdout().lock()),
        Command::Crew(args) => crew::run(args, &mut std::io::stdout().lock()),
        Command::Import(args) => import::run(args, &mut std::io::stdout().lock()),
        Command::Calc(args) => calc::run(
            &args,
            std::io::stdin().lock(),
            &mut std::io::stdout().lock(),
            &mut std::io::stderr().lock(),
        ),
        Command::Plan(args) => plan::run(&args, &mut std::io::stdout().lock()),
        Command::Dose(args) => dose::run(
            &args,
            &mut std::io::stdout().lock(),
            &mut std::io::stderr().lock(),
        ),
    };
    done.unwrap_or_else(|error| {
        // Whoever reads our output may stop reading, as `head` does; that is not a failure of ours.
        if error.downcast_ref().is_some_and(nobody_reads) {
            return ExitCode::SUCCESS;
        }
        // The command line is where people read this; there is no page to show it on.
        let _ = writeln!(std::io::stderr(), "slackwater: {error:#}");
        ExitCode::FAILURE
    })
}

fn nobody_reads(error: &std::io::Error) -> bool {
    error.kind() == std::io::ErrorKind::BrokenPipe
}
