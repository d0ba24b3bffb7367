//! The first run: an empty register gets its site and its coordinator, and is led from there to the
//! first dose sheet.

pub mod guide;
pub mod guide_pages;
pub mod pages;
