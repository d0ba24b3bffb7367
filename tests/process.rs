//! The program as it is run: it starts, keeps what it answered through a hard kill, stops when told to,
//! and its check sees what was altered.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a process that cannot be run fails the test, and says where"
)]

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

use reqwest::StatusCode;
use reqwest::header::{COOKIE, HeaderMap, SET_COOKIE};
use reqwest::redirect::Policy;

const PASSWORD: &str = "tide pools at noon";

struct Folder(PathBuf);

impl Folder {
    fn new() -> Self {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        Self(
            std::env::temp_dir().join(format!("slackwater-process-{}-{count}", std::process::id())),
        )
    }

    fn run(&self, args: &[&str]) -> Output {
        program()
            .args(args)
            .arg("--data")
            .arg(&self.0)
            .output()
            .unwrap()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn program() -> Command {
    Command::new(env!("CARGO_BIN_EXE_slackwater"))
}

struct Server {
    child: Child,
    address: String,
}

impl Server {
    fn start(data: &Path) -> Self {
        let mut child = program()
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut line)
            .unwrap();
        let address = line
            .trim()
            .strip_prefix("Slackwater is at ")
            .expect(&line)
            .to_owned();
        Self { child, address }
    }

    /// As a power cut would end it.
    fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }

    /// As a service manager would end it.
    fn stop(mut self) -> Option<i32> {
        Command::new("kill")
            .arg("-TERM")
            .arg(self.child.id().to_string())
            .status()
            .unwrap();
        self.child.wait().unwrap().code()
    }
}

fn client() -> reqwest::Client {
    slackwater::outside::prepare();
    reqwest::Client::builder()
        .redirect(Policy::none())
        .build()
        .unwrap()
}

async fn first_run(server: &Server) -> HeaderMap {
    let form = [
        ("site_name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("name", "Ines V."),
        ("sign_in", "ines"),
        ("password", PASSWORD),
        ("adult", "yes"),
    ];
    let answer = client()
        .post(format!("{}/first-run", server.address))
        .form(&form)
        .send()
        .await
        .unwrap();
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    answer.headers().clone()
}

#[tokio::test]
async fn what_was_answered_is_there_after_a_hard_kill_and_a_told_stop_is_a_clean_one() {
    let folder = Folder::new();
    let server = Server::start(&folder.0);
    let headers = first_run(&server).await;
    server.kill();

    let server = Server::start(&folder.0);
    let cookie = headers[SET_COOKIE]
        .to_str()
        .unwrap()
        .split(';')
        .next()
        .unwrap()
        .to_owned();
    let page = client()
        .get(format!("{}/logbook", server.address))
        .header(COOKIE, cookie)
        .send()
        .await
        .unwrap();
    assert_eq!(page.status(), StatusCode::OK);
    assert!(page.text().await.unwrap().contains("Orrelby Glasshouses"));
    assert_eq!(server.stop(), Some(0));

    let check = folder.run(&["check"]);
    let said = String::from_utf8(check.stdout).unwrap();
    assert!(
        check.status.success()
            && said.contains("database  sound")
            && said.contains("logbook   whole"),
        "{said}"
    );
}

#[tokio::test]
async fn the_check_says_where_the_record_was_altered() {
    let folder = Folder::new();
    let server = Server::start(&folder.0);
    first_run(&server).await;
    assert_eq!(server.stop(), Some(0));
    let file = folder.0.join("slackwater.db");
    let sql =
        "drop trigger logbook_is_not_changed; update logbook set subject = 'another' where id = 2;";
    assert!(
        Command::new("sqlite3")
            .arg(&file)
            .arg(sql)
            .status()
            .unwrap()
            .success()
    );
    let check = folder.run(&["check"]);
    let said = String::from_utf8(check.stdout).unwrap();
    assert!(
        !check.status.success() && said.contains("BROKEN at entry 2"),
        "{said}"
    );
}

#[test]
fn a_missing_database_and_a_file_that_is_none_are_said_plainly() {
    let folder = Folder::new();
    let check = folder.run(&["check"]);
    assert!(!check.status.success());
    assert!(
        String::from_utf8(check.stderr)
            .unwrap()
            .contains("there is no database")
    );

    std::fs::create_dir_all(&folder.0).unwrap();
    std::fs::write(
        folder.0.join("slackwater.db"),
        "this is a letter to the coordinator, not a database",
    )
    .unwrap();
    let check = folder.run(&["check"]);
    assert!(!check.status.success());
    assert!(
        String::from_utf8(check.stderr)
            .unwrap()
            .contains("cannot be opened")
    );
}

#[test]
fn help_reads_well() {
    let help = program().arg("--help").output().unwrap();
    let said = String::from_utf8(help.stdout).unwrap();
    for word in ["Usage: slackwater", "serve", "check"] {
        assert!(said.contains(word), "{said}");
    }
}

#[tokio::test]
async fn a_password_set_on_the_command_line_lets_a_locked_out_coordinator_in_again() {
    let folder = Folder::new();
    let server = Server::start(&folder.0);
    first_run(&server).await;
    let set = |name: &str| {
        let mut command = program();
        command
            .args(["crew", "password", name, "--data"])
            .arg(&folder.0);
        command.output().unwrap()
    };
    let nobody = set("tobit");
    assert!(!nobody.status.success());
    assert!(String::from_utf8_lossy(&nobody.stderr).contains("nobody in the crew"));
    let done = set("Ines");
    assert!(done.status.success());
    let said = String::from_utf8(done.stdout).unwrap();
    let drawn = said.lines().last().unwrap().to_owned();
    for (password, status) in [
        (PASSWORD, StatusCode::UNPROCESSABLE_ENTITY),
        (drawn.as_str(), StatusCode::SEE_OTHER),
    ] {
        let answer = client()
            .post(format!("{}/sign-in", server.address))
            .form(&[("sign_in", "ines"), ("password", password)])
            .send()
            .await
            .unwrap();
        assert_eq!(answer.status(), status);
    }
    assert_eq!(server.stop(), Some(0));
}
