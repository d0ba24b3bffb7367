//! Forms: text in, checked values out, all complaints at once, and what was typed is kept.

use std::borrow::Cow;

use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::Method;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

use super::AppError;

/// A form that was sent, with the mark that tells a repeated sending from a new one.
#[derive(Debug)]
pub struct Form<T> {
    pub input: T,
    pub once: Once,
}

/// The fields of a form that is no more than a button.
#[derive(Clone, Copy, Debug, serde::Deserialize)]
pub struct Nothing {}

/// The mark of one sending: the hash of the address and of all that was sent, the page's own key
/// included. A second tap sends the same and is recognised; a changed form is a new one.
#[derive(Clone, Debug)]
pub struct Once {
    key: Option<String>,
    /// Sent from a page of the set-up, which goes on after it.
    in_set_up: bool,
}

impl Once {
    /// Where the set-up goes on after a form was saved.
    const SET_UP_GOES_ON: &str = "/set-up/next";

    pub fn key(&self) -> Option<&str> {
        self.key.as_deref()
    }

    /// Where the reader is sent after the write: there, or on to the next step of the set-up.
    pub fn onward(&self, there: String) -> String {
        if self.in_set_up {
            Self::SET_UP_GOES_ON.to_owned()
        } else {
            there
        }
    }

    /// The mark of a file that was sent with a page's key.
    pub fn of_file(path: &str, key: &str, content: &str) -> Self {
        Self::of(path, format!("post_key={key}&file={content}").as_bytes())
    }

    fn of(path: &str, body: &[u8]) -> Self {
        // A client that sends no key does not ask to be recognised.
        let mut pairs = body.split(|byte| *byte == b'&');
        let keyed = pairs
            .clone()
            .any(|pair| pair.starts_with(b"post_key=") && pair.len() > b"post_key=".len());
        let in_set_up = pairs.any(|pair| pair == b"set_up=yes");
        if !keyed {
            return Self {
                key: None,
                in_set_up,
            };
        }
        let mut hash = Sha256::new();
        hash.update(path.as_bytes());
        hash.update([0]);
        hash.update(body);
        Self {
            key: Some(URL_SAFE_NO_PAD.encode(hash.finalize())),
            in_set_up,
        }
    }
}

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Form<T> {
    type Rejection = AppError;

    async fn from_request(request: Request, state: &S) -> Result<Self, AppError> {
        if request.method() != Method::POST {
            return Err(AppError::Unreadable("a form is sent with POST".to_owned()));
        }
        let path = request.uri().path().to_owned();
        let body = Bytes::from_request(request, state)
            .await
            .map_err(|error| AppError::Unreadable(error.body_text()))?;
        let once = Once::of(&path, &body);
        let input = serde_html_form::from_bytes(&body)
            .map_err(|error| AppError::Unreadable(error.to_string()))?;
        Ok(Self { input, once })
    }
}

/// The name of a field, as in the form.
pub type FieldName = &'static str;

/// What is wrong with a form, field by field, in the order of the form. In a table of fields a name
/// carries the number of its row, as in 'from-3'.
#[derive(Clone, Debug, Default)]
pub struct FormErrors(Vec<(Cow<'static, str>, String)>);

impl FormErrors {
    /// One thing alone is wrong.
    pub fn only(field: impl Into<Cow<'static, str>>, message: impl Into<String>) -> Self {
        let mut errors = Self::default();
        errors.add(field, message);
        errors
    }

    /// Takes the value, or keeps the complaint under the field's name.
    pub fn take<T, E: ToString>(
        &mut self,
        field: impl Into<Cow<'static, str>>,
        result: Result<T, E>,
    ) -> Option<T> {
        result
            .map_err(|error| self.add(field, error.to_string()))
            .ok()
    }

    pub fn add(&mut self, field: impl Into<Cow<'static, str>>, message: impl Into<String>) {
        self.0.push((field.into(), message.into()));
    }

    /// The value, where nothing is wrong with the fields, nor with all of them together.
    pub fn settle<T>(
        mut self,
        faults: impl IntoIterator<Item = (FieldName, String)>,
        value: T,
    ) -> Result<T, Self> {
        for (field, fault) in faults {
            self.add(field, fault);
        }
        if self.any() { Err(self) } else { Ok(value) }
    }

    /// The complaint about a field, empty when there is none.
    pub fn on(&self, field: &str) -> &str {
        self.0
            .iter()
            .find(|(name, _)| *name == field)
            .map_or("", |(_, message)| message)
    }

    pub fn all(&self) -> &[(Cow<'static, str>, String)] {
        &self.0
    }

    pub fn any(&self) -> bool {
        !self.0.is_empty()
    }

    /// 'One thing to put right', 'Two things to put right'.
    pub fn heading(&self) -> String {
        match self.0.len() {
            1 => "One thing to put right".to_owned(),
            2 => "Two things to put right".to_owned(),
            3 => "Three things to put right".to_owned(),
            n => format!("{n} things to put right"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_sending_has_the_same_mark_and_a_changed_one_another() {
        let mark = |path, body: &str| Once::of(path, body.as_bytes()).key().map(str::to_owned);
        let first = mark("/systems", "post_key=abc&name=North+2");
        assert!(first.is_some());
        assert_eq!(first, mark("/systems", "post_key=abc&name=North+2"));
        assert_ne!(first, mark("/systems", "post_key=abc&name=North+3"));
        assert_ne!(first, mark("/stock", "post_key=abc&name=North+2"));
        assert_eq!(mark("/systems", "name=North+2"), None);
        assert_eq!(mark("/systems", "post_key=&name=North+2"), None);
    }

    #[test]
    fn a_form_of_the_set_up_leads_on_to_its_next_step() {
        let onward = |body: &str| Once::of("/systems", body.as_bytes()).onward("/systems/3".into());
        assert_eq!(onward("post_key=abc&name=North+2"), "/systems/3");
        assert_eq!(
            onward("post_key=abc&set_up=yes&name=North+2"),
            "/set-up/next"
        );
        assert_eq!(onward("name=set_up%3Dyes"), "/systems/3");
    }

    #[test]
    fn all_complaints_are_kept_in_the_order_of_the_form() {
        let mut errors = FormErrors::default();
        let length = errors.take("length", "x".parse::<i32>().map_err(|_| "write a figure"));
        let width = errors.take("width", "12".parse::<i32>().map_err(|_| "write a figure"));
        assert_eq!((length, width), (None, Some(12)));
        assert_eq!(errors.on("length"), "write a figure");
        assert_eq!(errors.on("width"), "");
        assert_eq!(errors.heading(), "One thing to put right");
    }
}
