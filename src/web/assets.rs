//! Style sheets, fonts and drawings, inside the binary. A file's address carries the hash of its
//! content, so a browser may keep it for a year and still sees a new one at once.

use axum::extract::Path;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Static;

/// The address of a file in `static/`, such as `style.css`.
pub fn asset(name: &str) -> String {
    let hash = Static::get(name).map(|file| file.metadata.sha256_hash());
    let short: String = hash
        .iter()
        .flatten()
        .take(6)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    format!("/static/{name}?{short}")
}

pub async fn serve(Path(name): Path<String>) -> Response {
    match Static::get(&name) {
        Some(file) => {
            let kind = file.metadata.mimetype().to_owned();
            let keep = "public, max-age=31536000, immutable".to_owned();
            (
                [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)],
                file.data,
            )
                .into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}
