//! Things of which each system has one, in an order of their own, and found by their system at once.

use std::collections::HashMap;
use std::ops::Deref;
use std::sync::Arc;

use crate::ids::SystemId;

/// Whatever belongs to one system.
pub trait OfSystem {
    fn system(&self) -> SystemId;
}

impl<T: OfSystem> OfSystem for &T {
    fn system(&self) -> SystemId {
        T::system(self)
    }
}

impl<T: OfSystem> OfSystem for Arc<T> {
    fn system(&self) -> SystemId {
        T::system(self)
    }
}

/// A list that is also asked by system. Where two are of one system, the first is found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BySystem<T> {
    all: Vec<T>,
    places: HashMap<SystemId, usize>,
}

impl<T: OfSystem> BySystem<T> {
    pub fn of(&self, system: SystemId) -> Option<&T> {
        self.all.get(*self.places.get(&system)?)
    }

    /// The same to change: it stays with its system.
    pub fn of_mut(&mut self, system: SystemId) -> Option<&mut T> {
        self.all.get_mut(*self.places.get(&system)?)
    }

    /// Each of them to change: it stays with its system.
    pub fn iter_mut(&mut self) -> impl Iterator<Item = &mut T> {
        self.all.iter_mut()
    }

    pub fn retain(&mut self, keep: impl FnMut(&T) -> bool) {
        let mut all = std::mem::take(self).all;
        all.retain(keep);
        *self = all.into();
    }
}

impl<T> Default for BySystem<T> {
    fn default() -> Self {
        Self {
            all: Vec::new(),
            places: HashMap::new(),
        }
    }
}

impl<T: OfSystem> From<Vec<T>> for BySystem<T> {
    fn from(all: Vec<T>) -> Self {
        let mut places = HashMap::with_capacity(all.len());
        for (place, one) in all.iter().enumerate() {
            places.entry(one.system()).or_insert(place);
        }
        Self { all, places }
    }
}

impl<T: OfSystem> FromIterator<T> for BySystem<T> {
    fn from_iter<I: IntoIterator<Item = T>>(all: I) -> Self {
        all.into_iter().collect::<Vec<_>>().into()
    }
}

impl<T> Deref for BySystem<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        &self.all
    }
}

impl<'a, T> IntoIterator for &'a BySystem<T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.all.iter()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Clone, Debug, PartialEq)]
    struct One(i64, &'static str);

    impl OfSystem for One {
        fn system(&self) -> SystemId {
            SystemId::from_row(self.0)
        }
    }

    #[test]
    fn each_is_found_by_its_system_before_and_after_some_are_left_out() {
        let id = SystemId::from_row;
        let all = vec![One(7, "a"), One(3, "b"), One(7, "c"), One(5, "d")];
        let mut sorted: BySystem<One> = all.into_iter().collect();
        let names = |sorted: &BySystem<One>| sorted.iter().map(|one| one.1).collect::<String>();
        assert_eq!(names(&sorted), "abcd");
        assert_eq!(sorted.of(id(7)), Some(&One(7, "a")));
        assert_eq!(sorted.of(id(4)), None);
        sorted.retain(|one| one.1 != "a" && one.1 != "b");
        assert_eq!(names(&sorted), "cd");
        assert_eq!(sorted.of(id(7)), Some(&One(7, "c")));
        assert_eq!(sorted.of(id(3)), None);
        if let Some(one) = sorted.of_mut(id(5)) {
            one.1 = "e";
        }
        assert_eq!(sorted.of(id(5)), Some(&One(5, "e")));
    }
}
