fn main() -> std::process::ExitCode {
    slackwater::cli::run()
}
