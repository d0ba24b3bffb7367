//! What can go wrong at the edge, as a page or as problem+json (RFC 9457).
//!
//! A wrong field is not an error: it is the form again, with a message. What stands here is the rest.

use askama::Template;
use axum::extract::Request;
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

use super::page::{Frame, Redirect, render};

#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// The thing asked for, as in 'system'.
    #[error("There is no such {0} here.")]
    NotFound(&'static str),
    /// Somebody else changed it, or its state does not allow this. The text says what and what to do.
    #[error("{0}")]
    Conflict(String),
    #[error("This needs another role or skill. {0}")]
    Forbidden(String),
    #[error("Please sign in first.")]
    SignInFirst { next: String },
    /// Not an error: the register is empty, and the first run comes first.
    #[error("There is no site here yet.")]
    NobodyYet,
    #[error("This form was sent from another site's page, so it was not taken.")]
    FromElsewhere,
    #[error("Too many wrong passwords for this name. Wait a quarter of an hour, then try again.")]
    TooManyTries,
    #[error(
        "Too many pages were asked for from your address. Wait a moment, then open the page again."
    )]
    TooManyPages { wait_s: i64 },
    #[error("The request could not be read: {0}")]
    Unreadable(String),
    /// Not an error: the same form was answered before, and here is that answer again.
    #[error("This was done before.")]
    AlreadyDone(String),
    #[error("The database did not answer as it should. Nothing was changed.")]
    Db(#[from] sqlx::Error),
    #[error("Something went wrong here. Nothing was changed.")]
    Other(#[from] anyhow::Error),
}

impl AppError {
    pub fn status(&self) -> StatusCode {
        match self {
            Self::NotFound(_) => StatusCode::NOT_FOUND,
            Self::Conflict(_) => StatusCode::CONFLICT,
            Self::Forbidden(_) | Self::FromElsewhere => StatusCode::FORBIDDEN,
            Self::SignInFirst { .. } => StatusCode::UNAUTHORIZED,
            Self::TooManyTries | Self::TooManyPages { .. } => StatusCode::TOO_MANY_REQUESTS,
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::AlreadyDone(_) | Self::NobodyYet => StatusCode::SEE_OTHER,
            Self::Db(_) | Self::Other(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn title(&self) -> &'static str {
        match self {
            Self::NotFound(_) => "Not found",
            Self::Conflict(_) => "Not possible now",
            Self::Forbidden(_) => "Not allowed",
            Self::SignInFirst { .. } => "Sign in",
            Self::FromElsewhere => "Not taken",
            Self::TooManyTries | Self::TooManyPages { .. } => "Please wait",
            Self::Unreadable(_) => "Not understood",
            Self::AlreadyDone(_) => "Done before",
            Self::NobodyYet => "First run",
            Self::Db(_) | Self::Other(_) => "Something went wrong",
        }
    }
}

/// Kept beside the page, so that a client that asks for JSON gets the same in JSON.
#[derive(Clone, Debug, serde::Serialize)]
struct Problem {
    #[serde(rename = "type")]
    kind: &'static str,
    title: &'static str,
    status: u16,
    detail: String,
}

#[derive(Template)]
#[template(path = "error.html")]
struct ErrorPage {
    frame: Frame,
    title: &'static str,
    text: String,
}

impl IntoResponse for AppError {
    fn into_response(self) -> Response {
        if matches!(self, Self::Db(_) | Self::Other(_)) {
            tracing::error!(error = ?self, "a request failed");
        }
        match self {
            Self::AlreadyDone(location) => Redirect::to(location).into_response(),
            Self::NobodyYet => Redirect::to("/first-run").into_response(),
            error => {
                let status = error.status();
                let problem = Problem {
                    kind: "about:blank",
                    title: error.title(),
                    status: status.as_u16(),
                    detail: error.to_string(),
                };
                let mut response = match &error {
                    Self::SignInFirst { next } => {
                        Redirect::to(format!("/sign-in?next={next}")).into_response()
                    }
                    _ => {
                        let page = ErrorPage {
                            frame: Frame::bare(),
                            title: problem.title,
                            text: error.to_string(),
                        };
                        render(status, &page)
                    }
                };
                if let Self::TooManyPages { wait_s } = error {
                    let wait = HeaderValue::from(wait_s.max(1));
                    response.headers_mut().insert(header::RETRY_AFTER, wait);
                }
                response.extensions_mut().insert(problem);
                response
            }
        }
    }
}

/// Answers an error as problem+json where the client asks for JSON.
pub async fn answer_in_json(request: Request, next: Next) -> Response {
    let wants_json = request
        .headers()
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.contains("json") && !accept.contains("text/html"));
    let response = next.run(request).await;
    match response.extensions().get::<Problem>() {
        Some(problem) if wants_json => {
            let status =
                StatusCode::from_u16(problem.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
            let mut json = (status, axum::Json(problem.clone())).into_response();
            if let Some(wait) = response.headers().get(header::RETRY_AFTER) {
                json.headers_mut().insert(header::RETRY_AFTER, wait.clone());
            }
            json.headers_mut().insert(
                header::CONTENT_TYPE,
                HeaderValue::from_static("application/problem+json"),
            );
            json
        }
        _ => response,
    }
}
