//! What can go wrong at the edge, as a page or as problem+json (RFC 9457).
//!
//! A wrong field is not an error: it is the form again, with a message. What stands here is the rest.

use askama::Template;
use axum::body::to_bytes;
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
    #[error(
        "This link does not work: it was used, its time is over, or another was made after it. Ask a coordinator for a new one."
    )]
    LinkSpent,
    #[error("This token is not known here, was ended, or its time is over.")]
    TokenRefused,
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
            Self::NotFound(_) | Self::LinkSpent => StatusCode::NOT_FOUND,
            Self::Conflict(_) => StatusCode::CONFLICT,
            Self::Forbidden(_) | Self::FromElsewhere => StatusCode::FORBIDDEN,
            Self::SignInFirst { .. } | Self::TokenRefused => StatusCode::UNAUTHORIZED,
            Self::TooManyTries | Self::TooManyPages { .. } => StatusCode::TOO_MANY_REQUESTS,
            Self::Unreadable(_) => StatusCode::BAD_REQUEST,
            Self::AlreadyDone(_) | Self::NobodyYet => StatusCode::SEE_OTHER,
            Self::Db(_) | Self::Other(_) => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn title(&self) -> &'static str {
        match self {
            Self::NotFound(_) => "Not found",
            Self::LinkSpent => "A spent link",
            Self::Conflict(_) => "Not possible now",
            Self::Forbidden(_) => "Not allowed",
            Self::SignInFirst { .. } => "Sign in",
            Self::TokenRefused => "Token refused",
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
    /// Field by field, where a form was refused.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    errors: Vec<FieldProblem>,
}

#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
struct FieldProblem {
    field: String,
    detail: String,
}

impl Problem {
    /// What stands on the page of a refused form, for a program. It is read off the page, so that no
    /// form can forget to say it twice.
    fn of_a_form(page: &str) -> Self {
        let errors: Vec<FieldProblem> = page
            .split("<li><a href=\"#")
            .skip(1)
            .filter_map(|line| {
                let (field, rest) = line.split_once("\">")?;
                let (detail, _) = rest.split_once("</a>")?;
                Some(FieldProblem {
                    field: plain(field),
                    detail: plain(detail),
                })
            })
            .collect();
        Self {
            kind: "about:blank",
            title: "Things to put right",
            status: StatusCode::UNPROCESSABLE_ENTITY.as_u16(),
            detail: "The form was not taken, and nothing was changed.".to_owned(),
            errors,
        }
    }

    fn response(self, retry_after: Option<HeaderValue>) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let mut json = (status, axum::Json(self)).into_response();
        let headers = json.headers_mut();
        if let Some(wait) = retry_after {
            headers.insert(header::RETRY_AFTER, wait);
        }
        if status == StatusCode::UNAUTHORIZED {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        headers.insert(
            header::CONTENT_TYPE,
            HeaderValue::from_static("application/problem+json"),
        );
        json
    }
}

/// Text as it was before it was written into a page.
fn plain(html: &str) -> String {
    html.replace("&#39;", "'")
        .replace("&#34;", "\"")
        .replace("&#60;", "<")
        .replace("&#62;", ">")
        .replace("&#38;", "&")
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
                    errors: Vec::new(),
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

/// No page of a refused form is longer.
const LONGEST_PAGE: usize = 4 * 1024 * 1024;

/// Answers an error as problem+json where the client asks for JSON, or is a program with a token.
pub async fn answer_in_json(request: Request, next: Next) -> Response {
    let headers = request.headers();
    let wants_json = headers
        .get(header::ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.contains("json") && !accept.contains("text/html"));
    let wants_json = wants_json || headers.contains_key(header::AUTHORIZATION);
    let response = next.run(request).await;
    if !wants_json {
        return response;
    }
    if let Some(problem) = response.extensions().get::<Problem>() {
        let wait = response.headers().get(header::RETRY_AFTER).cloned();
        return problem.clone().response(wait);
    }
    if response.status() == StatusCode::UNPROCESSABLE_ENTITY {
        let page = to_bytes(response.into_body(), LONGEST_PAGE).await;
        let page = page.unwrap_or_default();
        return Problem::of_a_form(&String::from_utf8_lossy(&page)).response(None);
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_page_says_of_its_fields_is_read_off_it() {
        let page = r##"<ul><li><a href="#name">Write &#39;a&#39; name, 1 &#60; 2.</a></li><li><a href="#days">Write days.</a></li></ul>"##;
        let problem = Problem::of_a_form(page);
        assert_eq!(problem.errors.len(), 2);
        assert_eq!(problem.errors[0].field, "name");
        assert_eq!(problem.errors[0].detail, "Write 'a' name, 1 < 2.");
        assert!(Problem::of_a_form("<p>another page</p>").errors.is_empty());
    }
}
