//! What was worked out from the records, kept for as long as no record changes.
//!
//! One value of one kind, under a key that names all it depends on; the newest takes the place of the one
//! before. It is no record: without it everything is worked out again.

use std::any::Any;
use std::sync::{Arc, Mutex, PoisonError};

type Slot = Option<(String, Arc<dyn Any + Send + Sync>)>;

/// A place for one value; cloning it is cheap.
#[derive(Clone, Debug, Default)]
pub struct Kept(Arc<Mutex<Slot>>);

impl Kept {
    /// The value under this key, if it is the one that is kept.
    pub fn get<T: Send + Sync + 'static>(&self, key: &str) -> Option<Arc<T>> {
        let slot = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (_, value) = slot.as_ref().filter(|(known, _)| known == key)?;
        Arc::clone(value).downcast().ok()
    }

    /// The value that is kept, whatever its key: as it was, and not as it has to be now.
    pub fn last<T: Send + Sync + 'static>(&self) -> Option<Arc<T>> {
        let slot = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (_, value) = slot.as_ref()?;
        Arc::clone(value).downcast().ok()
    }

    /// Keeps a value in the place of the one before.
    pub fn put<T: Send + Sync + 'static>(&self, key: String, value: Arc<T>) {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some((key, value));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_is_found_under_its_own_key_and_kind_until_another_is_kept() {
        let kept = Kept::default();
        kept.put("1".to_owned(), Arc::new(7_i64));
        assert_eq!(kept.get::<i64>("1").as_deref(), Some(&7));
        assert!(kept.get::<i64>("2").is_none());
        assert!(kept.get::<String>("1").is_none());
        kept.put("2".to_owned(), Arc::new(8_i64));
        assert!(kept.get::<i64>("1").is_none());
        assert_eq!(kept.last::<i64>().as_deref(), Some(&8));
        assert!(kept.last::<String>().is_none());
        assert_eq!(kept.clone().get::<i64>("2").as_deref(), Some(&8));
    }
}
