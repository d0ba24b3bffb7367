//! The supplier's safety data sheet as a file: what is taken for one, by its content and not by its name.

use chrono::NaiveDate;
use sha2::{Digest, Sha256};

use crate::clock::Moment;
use crate::ids::{ProductId, SafetySheetId};
use crate::text::Name;

/// The largest file that is taken: 4 MiB, as in the table. Sheets have a dozen pages and a few hundred kilobytes.
pub const LARGEST: usize = 4 * 1024 * 1024;

/// What stands first and last in a PDF file: ISO 32000-1, 7.5.2 and 7.5.5.
const BEGINS: &[u8] = b"%PDF-";
const ENDS: &[u8] = b"%%EOF";
/// Where readers still look for the end: some programs write a few bytes behind it.
const NEAR_THE_END: usize = 1024;

/// A file that was looked at and is a PDF of a size that is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pdf(Vec<u8>);

impl Pdf {
    /// Takes a file for a PDF by its first and its last bytes.
    pub fn read(bytes: Vec<u8>) -> Result<Self, String> {
        if bytes.is_empty() {
            return Err("Choose the file of the safety data sheet.".to_owned());
        }
        if bytes.len() > LARGEST {
            return Err(too_large());
        }
        let version = bytes.strip_prefix(BEGINS).and_then(|rest| rest.first());
        if !matches!(version, Some(b'1' | b'2')) {
            return Err(
                "This file is no PDF, whatever its name says. Ask the supplier for the sheet as a PDF.".to_owned(),
            );
        }
        let from = bytes.len().saturating_sub(NEAR_THE_END);
        let whole = bytes
            .get(from..)
            .is_some_and(|tail| tail.windows(ENDS.len()).any(|part| part == ENDS));
        if !whole || bytes.len() < 64 {
            return Err(
                "This PDF ends before it should: it was cut off on its way. Fetch it again."
                    .to_owned(),
            );
        }
        Ok(Self(bytes))
    }

    pub fn bytes(&self) -> &[u8] {
        &self.0
    }

    pub fn sha256(&self) -> String {
        let hash = Sha256::digest(&self.0);
        hash.iter().map(|byte| format!("{byte:02x}")).collect()
    }
}

/// The complaint about a file beyond the limit.
pub fn too_large() -> String {
    format!(
        "This file is larger than {}\u{a0}MB. A safety data sheet is smaller; scan it in grey, or ask the supplier for the file.",
        LARGEST / 1024 / 1024
    )
}

/// A sheet as the page lists it, without its content.
#[derive(Clone, Debug)]
pub struct Sheet {
    pub id: SafetySheetId,
    pub product_id: ProductId,
    /// The day that the sheet itself names.
    pub revised_on: NaiveDate,
    pub bytes: i64,
    pub sha256: String,
    pub person: Name,
    pub at: Moment,
}

impl Sheet {
    /// After this many years a sheet is asked about: suppliers look at theirs again about that often
    /// (common practice, no source).
    const LOOK_AGAIN_YEARS: u32 = 3;

    pub fn is_old(&self, today: NaiveDate) -> bool {
        let due = self
            .revised_on
            .checked_add_months(chrono::Months::new(12 * Self::LOOK_AGAIN_YEARS));
        due.is_some_and(|due| due <= today)
    }

    pub fn path(&self) -> String {
        format!("/stock/products/{}/sheets/{}", self.product_id, self.id)
    }

    /// '312 kB'.
    pub fn size(&self) -> String {
        format!("{}\u{a0}kB", (self.bytes + 1023) / 1024)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn pdf(middle: usize, end: &[u8]) -> Vec<u8> {
        [b"%PDF-1.7\n".as_slice(), &vec![b'x'; middle], end].concat()
    }

    #[test]
    fn a_file_is_what_its_bytes_say() {
        assert!(Pdf::read(pdf(200, b"%%EOF\n")).is_ok());
        assert!(Pdf::read(pdf(LARGEST - 14, b"%%EOF")).is_ok());
        let refused = |bytes: Vec<u8>| Pdf::read(bytes).unwrap_err();
        assert!(refused(Vec::new()).contains("Choose the file"));
        assert!(refused(b"<html><script>".to_vec()).contains("no PDF"));
        assert!(
            refused([b"PK\x03\x04".as_slice(), &pdf(200, b"%%EOF")].concat()).contains("no PDF")
        );
        assert!(refused(pdf(200, b"")).contains("cut off"));
        assert!(refused(pdf(LARGEST, b"%%EOF")).contains("larger than 4"));
    }

    proptest! {
        #[test]
        fn no_bytes_panic(bytes in prop::collection::vec(any::<u8>(), 0..300)) {
            let read = Pdf::read(bytes.clone());
            prop_assert!(read.is_err() || bytes.starts_with(BEGINS));
        }
    }
}
