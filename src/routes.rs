//! The URL table, each line with the least role that may ask it; the lines of the stock stand in
//! `of_stock`. This is the only module that knows every room.
//!
//! The router is built from the table, so a route without a role cannot exist, and one test asks
//! every line without a session and as every role.

mod guard;
mod of_stock;

use axum::extract::State;
use axum::handler::Handler;
use axum::http::Method;
use axum::middleware;
use axum::routing::{MethodRouter, on};
use axum::{Router, extract::DefaultBodyLimit};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::timeout::TimeoutLayer;
use tower_http::trace::TraceLayer;

use crate::calculator_pages::pages as calculators;
use crate::cleanouts as jobs;
use crate::cleanouts::{release, run};
use crate::crew::{
    self, Person, Role, link_pages, password_pages, people_pages, pin_pages, session_pages,
    skill_pages, tablet_pages, token_pages, training_pages,
};
use crate::hours::owned_pages;
use crate::plan::pages::{self as plan, effects};
use crate::register::kit::Kit;
use crate::register::pages::{self as register, named, parts};
use crate::register::rooms::Room;
use crate::state::App;
use crate::turnovers::pages as turnovers;
use crate::web::{self, AppError};
use crate::{first_run, hours, logbook, methods, site, today};

/// The least that whoever asks must be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Least {
    /// Nobody has to be signed in.
    Anyone,
    Signed(Role),
    /// A hand who is signed in, or whoever signs with name and PIN on a shared tablet. A release is one too;
    /// it asks for a lead itself.
    Step,
    /// Whoever is signed in, about themselves. No shared tablet.
    Own,
    /// Anyone where the site shows its calculators to visitors, else whoever is signed in.
    Visitor,
}

/// One line of the table.
#[derive(Debug)]
pub struct Route {
    pub method: Method,
    pub path: &'static str,
    pub least: Least,
    handler: MethodRouter<App>,
}

/// Every address of the server.
#[rustfmt::skip] // a route is a line, however long
pub fn table() -> Vec<Route> {
    use Least::{Anyone, Own, Signed, Step, Visitor};
    use Role::{Coordinator, Hand, Lead, Viewer};
    let mut table = vec![
        get("/static/{*name}", Anyone, web::serve_asset),
        get("/health", Anyone, health),
        // first run, signing in and out
        get("/first-run", Anyone, first_run::pages::form),
        post("/first-run", Anyone, first_run::pages::create),
        get("/sign-in", Anyone, crew::pages::sign_in_form),
        post("/sign-in", Anyone, crew::pages::sign_in),
        get("/welcome/{token}", Anyone, link_pages::welcome_form),
        post("/welcome/{token}", Anyone, link_pages::welcome),
        post("/sign-out", Own, crew::pages::sign_out),
        // the set-up
        get("/set-up", Signed(Coordinator), first_run::guide_pages::show),
        get("/set-up/next", Signed(Coordinator), first_run::guide_pages::go_on),
        // first aid, for whoever stands before the screen
        get("/first-aid", Anyone, site::first_aid_pages::show),
        get("/clean-outs/{id}/first-aid", Anyone, site::first_aid_pages::from_job),
        get("/site/first-aid", Signed(Coordinator), site::first_aid_pages::form),
        post("/site/first-aid", Signed(Coordinator), site::first_aid_pages::write),
        // today
        get("/", Signed(Viewer), today::pages::today),
        // the crew
        get("/crew", Signed(Viewer), crew::crew_page::list),
        post("/crew", Signed(Coordinator), people_pages::add),
        get("/crew/new", Signed(Coordinator), people_pages::add_form),
        get("/crew/week", Signed(Viewer), hours::crew_pages::here_when),
        get("/crew/load", Signed(Viewer), plan::workload),
        get("/crew/{id}", Signed(Viewer), hours::crew_pages::person),
        get("/crew/{id}/hours", Signed(Coordinator), owned_pages::week_form::<Person>),
        post("/crew/{id}/hours", Signed(Coordinator), owned_pages::save_week::<Person>),
        post("/crew/{id}/hours/effect", Signed(Coordinator), effects::week::<Person>),
        get("/crew/{id}/away/new", Signed(Lead), owned_pages::days_form::<Person>),
        post("/crew/{id}/away/new", Signed(Lead), owned_pages::add_days::<Person>),
        post("/crew/{id}/away/new/effect", Signed(Lead), effects::new_days::<Person>),
        get("/crew/{id}/away/{days}", Signed(Lead), owned_pages::correction_form::<Person>),
        post("/crew/{id}/away/{days}", Signed(Lead), owned_pages::correct_days::<Person>),
        post("/crew/{id}/away/{days}/effect", Signed(Lead), effects::corrected_days::<Person>),
        get("/crew/{id}/change", Signed(Coordinator), people_pages::change_form),
        post("/crew/{id}/change", Signed(Coordinator), people_pages::change),
        post("/crew/{id}/end", Signed(Coordinator), people_pages::end),
        post("/crew/{id}/back", Signed(Coordinator), people_pages::take_back),
        get("/crew/{id}/skills/new", Signed(Coordinator), skill_pages::grant_form),
        post("/crew/{id}/skills/new", Signed(Coordinator), skill_pages::grant),
        get("/crew/{id}/skills/{skill}/withdraw", Signed(Coordinator), skill_pages::withdraw_form),
        post("/crew/{id}/skills/{skill}/withdraw", Signed(Coordinator), skill_pages::withdraw),
        get("/crew/{id}/training", Signed(Viewer), training_pages::list),
        post("/crew/{id}/training", Signed(Lead), training_pages::enter),
        get("/crew/{id}/training/{training}/withdraw", Signed(Lead), training_pages::withdraw_form),
        post("/crew/{id}/training/{training}/withdraw", Signed(Lead), training_pages::withdraw),
        get("/crew/{id}/sign-in", Signed(Coordinator), link_pages::give_form),
        post("/crew/{id}/sign-in", Signed(Coordinator), link_pages::give),
        get("/password", Own, password_pages::own_form),
        post("/password", Own, password_pages::own),
        get("/pin", Own, pin_pages::form),
        post("/pin", Own, pin_pages::set),
        post("/pin/remove", Own, pin_pages::remove),
        post("/crew/{id}/pin/unlock", Signed(Lead), pin_pages::unlock),
        get("/sessions", Own, session_pages::own),
        post("/sessions/end", Own, session_pages::end_others),
        post("/sessions/{id}/end", Own, session_pages::end),
        get("/crew/{id}/sessions", Signed(Coordinator), session_pages::of),
        post("/crew/{id}/sessions/end", Signed(Coordinator), session_pages::end_all),
        get("/tokens", Own, token_pages::list),
        post("/tokens", Own, token_pages::make),
        post("/tokens/{id}/end", Own, token_pages::end),
        get("/tablets", Signed(Coordinator), tablet_pages::list),
        post("/tablets", Signed(Coordinator), tablet_pages::make),
        post("/tablets/{id}/end", Signed(Coordinator), tablet_pages::end),
        // the plan
        get("/plan", Signed(Viewer), plan::show),
        get("/plan/week", Signed(Viewer), plan::week),
        get("/plan/changes", Signed(Viewer), plan::changes),
        get("/plan/posted/{id}", Signed(Viewer), plan::posted),
        post("/plan/post", Signed(Lead), plan::post),
        post("/plan/ask", Signed(Lead), plan::ask),
        get("/plan/asked/{no}", Signed(Lead), plan::asked),
        post("/plan/asked/{no}/stop", Signed(Lead), plan::asked_stop),
        post("/plan/asked/{no}/take", Signed(Lead), plan::asked_take),
        get("/plan/{system}/move", Signed(Lead), plan::move_form),
        post("/plan/{system}/move", Signed(Lead), plan::move_save),
        post("/plan/{system}/let-go", Signed(Lead), plan::let_go),
        // turnovers
        get("/turnovers", Signed(Viewer), turnovers::list),
        get("/turnovers/new", Signed(Lead), turnovers::new_form),
        post("/turnovers", Signed(Lead), turnovers::new_save),
        get("/turnovers/import", Signed(Coordinator), turnovers::import_form),
        post("/turnovers/import", Signed(Coordinator), turnovers::import_save),
        get("/turnovers/{id}", Signed(Viewer), turnovers::show),
        get("/turnovers/{id}/move", Signed(Lead), turnovers::move_form),
        post("/turnovers/{id}/move", Signed(Lead), effects::turnover),
        get("/turnovers/{id}/off", Signed(Hand), turnovers::off_form),
        post("/turnovers/{id}/off", Signed(Hand), turnovers::off_save),
        get("/turnovers/{id}/plant", Signed(Hand), turnovers::plant_form),
        post("/turnovers/{id}/plant", Signed(Hand), turnovers::plant_save),
        post("/turnovers/{id}/drop", Signed(Lead), turnovers::drop_intended),
        // the site
        get("/site", Signed(Viewer), site::pages::show),
        get("/site/change", Signed(Coordinator), site::pages::form),
        post("/site/change", Signed(Coordinator), site::pages::change),
        get("/site/classes", Signed(Coordinator), site::amending_pages::form::<site::bands_pages::ClassTable>),
        post("/site/classes", Signed(Coordinator), site::amending_pages::amend::<site::bands_pages::ClassTable>),
        get("/site/closed", Signed(Viewer), hours::closed_pages::list),
        get("/site/closed/new", Signed(Coordinator), hours::closed_pages::new),
        post("/site/closed/new", Signed(Coordinator), hours::closed_pages::add),
        post("/site/closed/new/effect", Signed(Coordinator), effects::closed_days),
        get("/site/closed/import", Signed(Coordinator), hours::import_pages::form),
        post("/site/closed/import", Signed(Coordinator), hours::import_pages::save),
        post("/site/closed/import/file", Signed(Coordinator), hours::import_pages::file),
        post("/site/closed/import/address", Signed(Coordinator), hours::import_pages::address),
        get("/site/closed/{days}", Signed(Coordinator), hours::closed_pages::change_form),
        post("/site/closed/{days}", Signed(Coordinator), hours::closed_pages::change),
        post("/site/closed/{days}/effect", Signed(Coordinator), effects::corrected_closed_days),
        get("/site/storage", Signed(Viewer), site::storage_pages::show),
        get("/site/storage/change", Signed(Coordinator), site::amending_pages::form::<site::storage_pages::StorageTable>),
        post("/site/storage/change", Signed(Coordinator), site::amending_pages::amend::<site::storage_pages::StorageTable>),
        get("/site/prices", Signed(Viewer), site::prices_pages::form),
        post("/site/prices", Signed(Coordinator), site::prices_pages::enter),
        get("/site/rules", Signed(Viewer), site::rules_pages::show),
        post("/site/rules", Signed(Coordinator), site::rules_pages::choose),
        get("/site/sources", Signed(Viewer), site::sources_pages::show),
        post("/site/sources", Signed(Coordinator), site::sources_pages::choose),
        // the register
        get("/systems", Signed(Viewer), turnovers::systems_list),
        get("/rooms/new", Signed(Coordinator), named::new::<register::rooms::RoomForm>),
        post("/rooms", Signed(Coordinator), named::create::<register::rooms::RoomForm>),
        get("/rooms/{id}/change", Signed(Coordinator), named::change::<register::rooms::RoomForm>),
        post("/rooms/{id}", Signed(Coordinator), named::update::<register::rooms::RoomForm>),
        get("/jugs", Signed(Viewer), register::jugs::list),
        get("/jugs/new", Signed(Coordinator), named::new::<register::jugs::JugForm>),
        post("/jugs", Signed(Coordinator), named::create::<register::jugs::JugForm>),
        get("/jugs/{id}/change", Signed(Coordinator), named::change::<register::jugs::JugForm>),
        post("/jugs/{id}", Signed(Coordinator), named::update::<register::jugs::JugForm>),
        get("/gauges", Signed(Viewer), register::gauges::list),
        get("/gauges/new", Signed(Coordinator), named::new::<register::gauges::GaugeForm>),
        post("/gauges", Signed(Coordinator), named::create::<register::gauges::GaugeForm>),
        get("/gauges/{id}/change", Signed(Coordinator), named::change::<register::gauges::GaugeForm>),
        post("/gauges/{id}", Signed(Coordinator), named::update::<register::gauges::GaugeForm>),
        get("/rooms/{id}/hours", Signed(Viewer), register::room_hours::show),
        get("/rooms/{id}/hours/write", Signed(Coordinator), owned_pages::week_form::<Room>),
        post("/rooms/{id}/hours/write", Signed(Coordinator), owned_pages::save_week::<Room>),
        post("/rooms/{id}/hours/write/effect", Signed(Coordinator), effects::week::<Room>),
        get("/rooms/{id}/days/new", Signed(Lead), owned_pages::days_form::<Room>),
        post("/rooms/{id}/days/new", Signed(Lead), owned_pages::add_days::<Room>),
        post("/rooms/{id}/days/new/effect", Signed(Lead), effects::new_days::<Room>),
        get("/rooms/{id}/days/{days}", Signed(Lead), owned_pages::correction_form::<Room>),
        post("/rooms/{id}/days/{days}", Signed(Lead), owned_pages::correct_days::<Room>),
        post("/rooms/{id}/days/{days}/effect", Signed(Lead), effects::corrected_days::<Room>),
        get("/kit", Signed(Viewer), register::kit::list),
        get("/kit/new", Signed(Coordinator), named::new::<register::kit::KitForm>),
        post("/kit", Signed(Coordinator), named::create::<register::kit::KitForm>),
        get("/kit/{id}/change", Signed(Coordinator), named::change::<register::kit::KitForm>),
        post("/kit/{id}", Signed(Coordinator), named::update::<register::kit::KitForm>),
        get("/kit/{id}/out/new", Signed(Hand), owned_pages::days_form::<Kit>),
        post("/kit/{id}/out/new", Signed(Hand), owned_pages::add_days::<Kit>),
        post("/kit/{id}/out/new/effect", Signed(Hand), effects::new_days::<Kit>),
        get("/kit/{id}/out/{days}", Signed(Lead), owned_pages::correction_form::<Kit>),
        post("/kit/{id}/out/{days}", Signed(Lead), owned_pages::correct_days::<Kit>),
        post("/kit/{id}/out/{days}/effect", Signed(Lead), effects::corrected_days::<Kit>),
        get("/water", Signed(Viewer), register::water::list),
        get("/water/new", Signed(Coordinator), named::new::<register::water::WaterForm>),
        post("/water", Signed(Coordinator), named::create::<register::water::WaterForm>),
        get("/water/{id}", Signed(Viewer), register::water_measured::show),
        get("/water/{id}/change", Signed(Coordinator), named::change::<register::water::WaterForm>),
        post("/water/{id}/change", Signed(Coordinator), named::update::<register::water::WaterForm>),
        post("/water/{id}/tests", Signed(Hand), register::water_measured::add_test),
        post("/water/{id}/levels", Signed(Hand), register::water_measured::add_level),
        get("/systems/new", Signed(Coordinator), register::systems::new),
        post("/systems", Signed(Coordinator), register::systems::create),
        get("/systems/{id}", Signed(Viewer), turnovers::system_show),
        get("/systems/{id}/change", Signed(Coordinator), register::systems::change),
        post("/systems/{id}", Signed(Coordinator), register::systems::update),
        get("/systems/{id}/standing", Signed(Lead), register::standing::show),
        post("/systems/{id}/standing", Signed(Lead), register::standing::set),
        get("/systems/{id}/reservoirs/new", Signed(Coordinator), parts::new::<register::reservoirs::ReservoirForm>),
        post("/systems/{id}/reservoirs", Signed(Coordinator), parts::create::<register::reservoirs::ReservoirForm>),
        get("/reservoirs/{id}/change", Signed(Coordinator), parts::change::<register::reservoirs::ReservoirForm>),
        post("/reservoirs/{id}", Signed(Coordinator), parts::update::<register::reservoirs::ReservoirForm>),
        get("/systems/{id}/benches/new", Signed(Coordinator), parts::new::<register::benches::BenchForm>),
        post("/systems/{id}/benches", Signed(Coordinator), parts::create::<register::benches::BenchForm>),
        get("/benches/{id}/change", Signed(Coordinator), parts::change::<register::benches::BenchForm>),
        post("/benches/{id}", Signed(Coordinator), parts::update::<register::benches::BenchForm>),
        get("/benches/{id}/bucket-tests", Signed(Viewer), register::bucket_tests::show),
        post("/benches/{id}/bucket-tests", Signed(Hand), register::bucket_tests::add),
        get("/systems/{id}/pumps/new", Signed(Coordinator), parts::new::<register::pumps::PumpForm>),
        post("/systems/{id}/pumps", Signed(Coordinator), parts::create::<register::pumps::PumpForm>),
        get("/pumps/{id}/change", Signed(Coordinator), parts::change::<register::pumps::PumpForm>),
        post("/pumps/{id}", Signed(Coordinator), parts::update::<register::pumps::PumpForm>),
        get("/systems/{id}/tubing/new", Signed(Coordinator), parts::new::<register::tubing::TubingForm>),
        post("/systems/{id}/tubing", Signed(Coordinator), parts::create::<register::tubing::TubingForm>),
        get("/tubing/{id}/change", Signed(Coordinator), parts::change::<register::tubing::TubingForm>),
        post("/tubing/{id}", Signed(Coordinator), parts::update::<register::tubing::TubingForm>),
        get("/systems/{id}/water", Signed(Viewer), jobs::water::pages::show),
        post("/systems/{id}/water", Signed(Hand), jobs::water::pages::enter),
        get("/systems/{id}/fills", Signed(Viewer), register::fills::show),
        post("/systems/{id}/fills", Signed(Hand), register::fills::add),
        get("/fills/{id}/set-aside", Signed(Lead), register::fills::ask_aside),
        post("/fills/{id}/set-aside", Signed(Lead), register::fills::set_aside),
        get("/systems/{id}/flow-tests", Signed(Viewer), register::flow_tests::show),
        post("/systems/{id}/flow-tests", Signed(Hand), register::flow_tests::add),
        get("/flow-tests/{id}/set-aside", Signed(Lead), register::flow_tests::ask_aside),
        post("/flow-tests/{id}/set-aside", Signed(Lead), register::flow_tests::set_aside),
        get("/retire/{what}/{id}", Signed(Coordinator), register::retire::ask),
        post("/retire/{what}/{id}", Signed(Coordinator), register::retire::retire),
        // clean-outs
        get("/clean-outs", Signed(Viewer), jobs::pages::list),
        post("/clean-outs", Signed(Lead), jobs::propose::create),
        get("/clean-outs/new", Signed(Lead), jobs::propose::form),
        get("/clean-outs/{id}", Signed(Viewer), jobs::pages::one),
        get("/clean-outs/{id}/dose", Signed(Viewer), jobs::sheet_pages::sheet),
        get("/clean-outs/{id}/card", Signed(Viewer), jobs::card_pages::card),
        get("/clean-outs/{id}/booking", Signed(Lead), jobs::booking_pages::form),
        post("/clean-outs/{id}/booking", Signed(Lead), jobs::booking_pages::save),
        get("/clean-outs/{id}/rules", Signed(Viewer), jobs::rules::pages::show),
        post("/clean-outs/{id}/rules", Signed(Coordinator), jobs::rules::pages::let_go),
        post("/clean-outs/{id}/rules/{let_go}/back", Signed(Coordinator), jobs::rules::pages::take_back),
        get("/clean-outs/{id}/choices", Signed(Lead), jobs::choices_pages::form),
        post("/clean-outs/{id}/choices", Signed(Lead), jobs::choices_pages::save),
        get("/clean-outs/{id}/products", Signed(Lead), jobs::other_agents_pages::form),
        post("/clean-outs/{id}/products", Signed(Lead), jobs::other_agents_pages::save),
        post("/clean-outs/{id}/issue", Signed(Lead), jobs::issue::issue),
        get("/clean-outs/{id}/call-off", Signed(Lead), jobs::issue::call_off_form),
        post("/clean-outs/{id}/call-off", Signed(Lead), jobs::issue::call_off),
        // the run of a clean-out, and its release
        get("/clean-outs/{id}/run", Signed(Viewer), run::pages::next),
        get("/clean-outs/{id}/run/{no}", Signed(Viewer), run::pages::step),
        post("/clean-outs/{id}/run/{no}/done", Step, run::tick),
        post("/clean-outs/{id}/run/{no}/undo", Step, run::undo),
        post("/clean-outs/{id}/run/{no}/begin", Step, run::begin),
        post("/clean-outs/{id}/run/{no}/end", Step, run::end),
        post("/clean-outs/{id}/run/{no}/pour", Step, run::pour),
        post("/clean-outs/{id}/run/{no}/reading", Step, run::reading),
        get("/clean-outs/{id}/run/{no}/trouble", Step, run::note_form),
        post("/clean-outs/{id}/run/{no}/trouble", Step, run::note_trouble),
        get("/clean-outs/{id}/release", Signed(Viewer), release::pages::show),
        post("/clean-outs/{id}/release", Step, release::pages::decide),
        // methods
        get("/methods", Signed(Viewer), methods::pages::list),
        get("/methods/new", Signed(Coordinator), methods::edit_pages::new_form),
        post("/methods", Signed(Coordinator), methods::edit_pages::create),
        get("/methods/{id}", Signed(Viewer), methods::pages::show),
        get("/methods/{id}/compare", Signed(Viewer), methods::pages::compare),
        get("/methods/{id}/next", Signed(Coordinator), methods::edit_pages::next_form),
        post("/methods/{id}/next", Signed(Coordinator), methods::edit_pages::next_save),
        get("/methods/{id}/kit", Signed(Viewer), methods::kit_pages::show),
        post("/methods/{id}/kit", Signed(Coordinator), methods::kit_pages::save),
        post("/methods/{id}/retire", Signed(Coordinator), methods::edit_pages::retire),
        post("/methods/{id}/back", Signed(Coordinator), methods::edit_pages::bring_back),
        // the calculators
        get("/calculators", Visitor, calculators::list),
        get("/calculators/{name}", Visitor, calculators::one),
        // the logbook
        get("/logbook", Signed(Viewer), logbook::pages::list),
    ];
    table.extend(of_stock::table());
    table
}

fn get<H: Handler<T, App>, T: 'static>(path: &'static str, least: Least, handler: H) -> Route {
    Route {
        method: Method::GET,
        path,
        least,
        handler: axum::routing::get(handler),
    }
}

fn post<H: Handler<T, App>, T: 'static>(path: &'static str, least: Least, handler: H) -> Route {
    Route {
        method: Method::POST,
        path,
        least,
        handler: on(axum::routing::MethodFilter::POST, handler),
    }
}

/// Far more than any form holds; a table that is pasted is the longest.
const LARGEST_FORM: usize = 1024 * 1024;

/// The server's router, with everything that every answer goes through.
pub fn router(app: App) -> Router {
    let mut router = Router::new();
    for Route {
        path,
        least,
        handler,
        ..
    } in table()
    {
        let guarded = handler.layer(middleware::from_fn_with_state(
            (app.clone(), path, least),
            guard::guard,
        ));
        router = router.route(path, guarded);
    }
    router
        .fallback(async || AppError::NotFound("page"))
        .layer(DefaultBodyLimit::max(LARGEST_FORM))
        .layer(web::same_origin_only())
        .layer(middleware::from_fn(web::answer_in_json))
        .layer(middleware::from_fn(web::headers))
        .layer(CompressionLayer::new())
        .layer(TimeoutLayer::with_status_code(
            axum::http::StatusCode::SERVICE_UNAVAILABLE,
            std::time::Duration::from_secs(20),
        ))
        .layer(CatchPanicLayer::new())
        .layer(TraceLayer::new_for_http())
        .with_state(app)
}

async fn anybody(app: &App) -> sqlx::Result<bool> {
    let mut conn = app.db.read().await?;
    crew::store::anybody(&mut conn).await
}

/// Answers when the database does.
async fn health(State(app): State<App>) -> Result<&'static str, AppError> {
    anybody(&app).await?;
    Ok("ok")
}
