//! What each answer carries, and which requests are not answered at all.

use axum::extract::Request;
use axum::http::{HeaderName, HeaderValue, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use tower_http::csrf::{CsrfLayer, ProtectionError};

use super::AppError;

/// Nothing comes from elsewhere, nothing runs inline, nobody frames a page.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; object-src 'none'; \
    img-src 'self' data:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

pub async fn headers(request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (header::REFERRER_POLICY, "same-origin"),
        (
            HeaderName::from_static("permissions-policy"),
            "camera=(), geolocation=(), microphone=()",
        ),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    // A page shows a site's own records: a shared cache has no business with it.
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    response
}

/// A form sent from another site's page is refused.
pub fn same_origin_only() -> CsrfLayer<fn(ProtectionError) -> Response> {
    CsrfLayer::new().with_rejection_response(|_| AppError::FromElsewhere.into_response())
}
