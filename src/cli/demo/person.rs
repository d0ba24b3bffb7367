//! Somebody of the demo who signs in and sends forms, as a browser on the same page does.

use anyhow::{Context, bail};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Method, Request, StatusCode, header};
use axum::response::Response;
use tower::ServiceExt;

/// Larger than any page.
const MOST: usize = 4 * 1024 * 1024;

#[derive(Clone, Debug)]
pub struct Person {
    router: Router,
    cookie: String,
}

impl Person {
    /// Nobody yet.
    pub fn stranger(router: &Router) -> Self {
        Self {
            router: router.clone(),
            cookie: String::new(),
        }
    }

    /// Signs in, on the clock of the server.
    pub async fn sign_in(router: &Router, name: &str, password: &str) -> anyhow::Result<Self> {
        let mut person = Self::stranger(router);
        person
            .send("/sign-in", &[("sign_in", name), ("password", password)])
            .await?;
        Ok(person)
    }

    /// Sends a form and returns where it leads. A form that comes back is an error, with its page.
    pub async fn send(&mut self, path: &str, fields: &[(&str, &str)]) -> anyhow::Result<String> {
        let (parts, body) = self.ask(path, fields).await?.into_parts();
        if parts.status != StatusCode::SEE_OTHER {
            let page = to_bytes(body, MOST).await?;
            bail!(
                "{path} answered {}: {}",
                parts.status,
                complaints(&String::from_utf8_lossy(&page))
            );
        }
        if let Some(cookie) = parts.headers.get(header::SET_COOKIE) {
            self.cookie = cookie
                .to_str()?
                .split(';')
                .next()
                .unwrap_or_default()
                .to_owned();
        }
        let location = parts
            .headers
            .get(header::LOCATION)
            .context("a redirect without a place")?;
        Ok(location.to_str()?.to_owned())
    }

    /// Makes the link with which somebody sets a password, and reads its path off the page.
    pub async fn link(&mut self, path: &str, sign_in: &str) -> anyhow::Result<String> {
        let answer = self.ask(path, &[("sign_in", sign_in)]).await?;
        let page = to_bytes(answer.into_body(), MOST).await?;
        let page = String::from_utf8_lossy(&page);
        let link = page.find("/welcome/").and_then(|at| page.get(at..));
        let link = link.and_then(|link| link.split('<').next());
        Ok(link.context("a page without its link")?.to_owned())
    }

    async fn ask(&self, path: &str, fields: &[(&str, &str)]) -> anyhow::Result<Response> {
        let body = serde_html_form::to_string(fields)?;
        let request = Request::builder()
            .method(Method::POST)
            .uri(path)
            .header(header::HOST, "localhost")
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin")
            .header(header::COOKIE, &self.cookie)
            .body(Body::from(body))?;
        Ok(self.router.clone().oneshot(request).await?)
    }
}

/// What stands in the list of complaints on a page.
fn complaints(page: &str) -> String {
    page.split("role=\"alert\"")
        .nth(1)
        .and_then(|rest| rest.split("</div>").next())
        .unwrap_or(page)
        .to_owned()
}
