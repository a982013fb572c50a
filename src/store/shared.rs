//! Something that is copied by pointing at it, until one of those who point at it changes theirs.

use std::ops::{Deref, DerefMut};
use std::sync::Arc;

use serde::{Serialize, Serializer};

/// A value many may hold. A copy costs nothing; whoever changes it gets one of its own first, if others hold it too. Two that
/// point at the same are equal without being looked at, which is what makes comparing a large library with itself of a
/// moment ago cheap.
#[derive(Debug, Default)]
pub struct Shared<T> {
    held: Arc<T>,
}

impl<T> Shared<T> {
    /// Holds a value.
    pub fn new(value: T) -> Self {
        Self { held: Arc::new(value) }
    }
}

impl<T> From<T> for Shared<T> {
    fn from(value: T) -> Self {
        Self::new(value)
    }
}

impl<T: Clone> Shared<T> {
    /// Returns the value, copied where others hold it too.
    pub(super) fn take(self) -> T {
        Arc::unwrap_or_clone(self.held)
    }
}

impl<T> Clone for Shared<T> {
    fn clone(&self) -> Self {
        Self { held: Arc::clone(&self.held) }
    }
}

impl<T> Deref for Shared<T> {
    type Target = T;

    fn deref(&self) -> &T {
        &self.held
    }
}

impl<T: Clone> DerefMut for Shared<T> {
    fn deref_mut(&mut self) -> &mut T {
        Arc::make_mut(&mut self.held)
    }
}

impl<T: PartialEq> PartialEq for Shared<T> {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.held, &other.held) || *self.held == *other.held
    }
}

impl<T: Serialize> Serialize for Shared<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.held.serialize(serializer)
    }
}

#[cfg(test)]
mod tests {
    use std::cell::Cell;

    use super::*;

    /// Counts how often it is compared.
    #[derive(Clone, Debug)]
    struct Counted<'a>(u8, &'a Cell<u32>);

    impl PartialEq for Counted<'_> {
        fn eq(&self, other: &Self) -> bool {
            self.1.set(self.1.get() + 1);
            self.0 == other.0
        }
    }

    #[test]
    fn a_copy_is_equal_unseen_and_changes_for_itself_alone() {
        let seen = Cell::new(0);
        let one = Shared::new(Counted(1, &seen));
        let mut other = one.clone();
        assert!(one == other);
        assert_eq!(seen.get(), 0);
        other.0 = 2;
        assert!(one.0 == 1 && one != other);
        assert_eq!(seen.get(), 1);
        // Alike, though each has its own.
        other.0 = 1;
        assert!(one == other);
    }
}
