//! Whose hours or days a form is about, as the form and the logbook call it.

use crate::ids::UnusualDaysId;
use crate::web::Section;

use super::Owner;

#[derive(Clone, Debug)]
pub struct About {
    pub owner: Owner,
    pub section: Section,
    /// As the logbook calls it: 'person', 3, 'Tobit A.'.
    pub kind: &'static str,
    pub id: i64,
    pub subject: String,
    /// The way back up: address and words.
    pub crumbs: Vec<(String, String)>,
    /// Where the reader goes on to after saving.
    pub back: String,
    /// Where the forms of its days lie, as in '/crew/3/away'.
    pub days: String,
}

impl About {
    pub fn new_days(&self) -> String {
        format!("{}/new", self.days)
    }

    pub fn change_days(&self, id: UnusualDaysId) -> String {
        format!("{}/{id}", self.days)
    }
}
