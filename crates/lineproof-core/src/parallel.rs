//! Work shared among the cores, or done one piece after the other without the feature `parallel`.
//!
//! Both ways give the same results: what is shared is independent, and collected in the order of
//! its input. No sum runs across threads, since the order of its terms would be left to chance.

/// The iterators' extensions, by the same names either way.
pub(crate) mod prelude {
    #[cfg(feature = "parallel")]
    pub(crate) use rayon::prelude::*;

    #[cfg(not(feature = "parallel"))]
    pub(crate) use super::serial::*;
}

/// Both results; side by side where there are threads.
#[cfg(feature = "parallel")]
pub(crate) use rayon::join;

/// Both results, one after the other.
#[cfg(not(feature = "parallel"))]
pub(crate) fn join<A, B>(a: impl FnOnce() -> A, b: impl FnOnce() -> B) -> (A, B) {
    (a(), b())
}

/// What the estimator uses of rayon, on the calling thread.
#[cfg(not(feature = "parallel"))]
mod serial {
    use std::slice::{Iter, IterMut};

    /// Iterates over values.
    pub(crate) trait IntoSerialIterator: IntoIterator + Sized {
        fn into_par_iter(self) -> Self::IntoIter {
            self.into_iter()
        }
    }

    impl<T: IntoIterator> IntoSerialIterator for T {}

    /// Iterates over the elements of a slice.
    pub(crate) trait SerialSlice<T> {
        fn par_iter(&self) -> Iter<'_, T>;
        fn par_iter_mut(&mut self) -> IterMut<'_, T>;
    }

    impl<T> SerialSlice<T> for [T] {
        fn par_iter(&self) -> Iter<'_, T> {
            self.iter()
        }

        fn par_iter_mut(&mut self) -> IterMut<'_, T> {
            self.iter_mut()
        }
    }

    /// Adaptors that only the parallel iterators have.
    pub(crate) trait SerialIterator: Iterator + Sized {
        fn flat_map_iter<U: IntoIterator>(
            self,
            f: impl FnMut(Self::Item) -> U,
        ) -> impl Iterator<Item = U::Item> {
            self.flat_map(f)
        }
    }

    impl<T: Iterator> SerialIterator for T {}
}
