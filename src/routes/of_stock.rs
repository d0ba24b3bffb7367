//! The addresses of the stock and of the troubles that are found in it.

use axum::extract::DefaultBodyLimit;
use axum::handler::Handler;
use axum::http::Method;

use super::{Least, Route, get, post};
use crate::crew::Role;
use crate::plan::pages::effects;
use crate::register::pages::named;
use crate::state::App;
use crate::stock::pages as stock;
use crate::stock::sheet::LARGEST;
use crate::trouble;

#[rustfmt::skip] // a route is a line, however long
pub(super) fn table() -> Vec<Route> {
    use Least::Signed;
    use Role::{Coordinator, Lead, Viewer};
    vec![
        get("/stock", Signed(Viewer), stock::list::list),
        get("/stock/enough", Signed(Viewer), crate::plan::pages::enough::show),
        get("/stock/products/new", Signed(Coordinator), stock::product::new),
        post("/stock/products", Signed(Coordinator), stock::product::create),
        get("/stock/products/{id}/change", Signed(Coordinator), stock::product::change),
        get("/stock/products/{id}", Signed(Viewer), stock::sheets::show),
        get("/stock/products/{id}/mix", Signed(Viewer), stock::mix::show),
        post("/stock/products/{id}", Signed(Coordinator), stock::product::update),
        upload("/stock/products/{id}/sheets", Signed(Coordinator), stock::sheets::add),
        get("/stock/products/{id}/sheets/{sheet}", Signed(Viewer), stock::sheets::file),
        get("/stock/products/{id}/ordering", Signed(Coordinator), stock::ordering::form),
        post("/stock/products/{id}/ordering", Signed(Coordinator), stock::ordering::enter),
        post("/stock/products/{id}/retire", Signed(Coordinator), stock::product::retire),
        post("/stock/products/{id}/back", Signed(Coordinator), stock::product::take_back),
        get("/stock/deliveries/new", Signed(Coordinator), stock::deliveries::new),
        post("/stock/deliveries", Signed(Coordinator), stock::deliveries::create),
        post("/stock/deliveries/effect", Signed(Coordinator), effects::delivery_expected),
        get("/stock/deliveries/{id}", Signed(Viewer), stock::deliveries::show),
        post("/stock/deliveries/{id}", Signed(Lead), stock::deliveries::moved),
        post("/stock/deliveries/{id}/effect", Signed(Lead), effects::delivery_moved),
        post("/stock/deliveries/{id}/call-off", Signed(Lead), stock::deliveries::called_off),
        post("/stock/deliveries/{id}/call-off/effect", Signed(Lead), effects::delivery_called_off),
        get("/stock/stores", Signed(Viewer), stock::stores::list),
        get("/stock/stores/new", Signed(Coordinator), named::new::<stock::stores::StoreForm>),
        post("/stock/stores", Signed(Coordinator), named::create::<stock::stores::StoreForm>),
        get("/stock/stores/{id}/change", Signed(Coordinator), named::change::<stock::stores::StoreForm>),
        post("/stock/stores/{id}", Signed(Coordinator), named::update::<stock::stores::StoreForm>),
        post("/stock/stores/{id}/retire", Signed(Coordinator), stock::stores::retire),
        get("/stock/figures", Signed(Viewer), stock::figures::form),
        post("/stock/figures", Signed(Coordinator), stock::figures::enter),
        get("/troubles", Signed(Viewer), trouble::pages::list),
        get("/troubles/{id}", Signed(Viewer), trouble::pages::show),
        post("/troubles/{id}", Signed(Lead), trouble::pages::close),
        get("/stock/receive", Signed(Lead), stock::receive::form),
        post("/stock/receive", Signed(Lead), stock::receive::receive),
        get("/stock/lots/{id}", Signed(Viewer), stock::lot::show),
        get("/stock/lots/{id}/change", Signed(Lead), stock::lot::change),
        post("/stock/lots/{id}/change", Signed(Lead), stock::lot::update),
        get("/stock/lots/{id}/count", Signed(Lead), stock::count::form),
        post("/stock/lots/{id}/count", Signed(Lead), stock::count::count),
        get("/stock/lots/{id}/label", Signed(Viewer), stock::label::show),
        get("/stock/lots/{id}/mix", Signed(Lead), stock::mixing::form),
        post("/stock/lots/{id}/mix", Signed(Lead), stock::mixing::enter),
        get("/stock/lots/{id}/move", Signed(Lead), stock::moving::form),
        post("/stock/lots/{id}/move", Signed(Lead), stock::moving::enter),
        get("/stock/lots/{id}/take", Signed(Lead), stock::take::form),
        post("/stock/lots/{id}/take", Signed(Lead), stock::take::take),
        get("/stock/lots/{id}/assay", Signed(Lead), stock::assay::form),
        post("/stock/lots/{id}/assay", Signed(Lead), stock::assay::enter),
        get("/stock/lots/{id}/withdraw", Signed(Lead), stock::withdraw::form),
        post("/stock/lots/{id}/withdraw", Signed(Lead), stock::withdraw::withdraw),
        get("/stock/lots/{id}/entries/{entry}/correct", Signed(Lead), stock::correct::form),
        post("/stock/lots/{id}/entries/{entry}/correct", Signed(Lead), stock::correct::correct),
    ]
}

/// A form that sends a file: its body may be larger than that of any other.
fn upload<H: Handler<T, App>, T: 'static>(path: &'static str, least: Least, handler: H) -> Route {
    let Route { handler, .. } = post(path, least, handler);
    Route {
        method: Method::POST,
        path,
        least,
        handler: handler.layer(DefaultBodyLimit::max(LARGEST + 64 * 1024)),
    }
}
