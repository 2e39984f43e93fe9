//! Values in groups.

/// Values by key, those of one key in the order in which they came.
#[derive(Clone, Debug)]
pub(crate) struct Grouped<K, V>(Vec<(K, V)>);

impl<K: Copy + Ord, V> Grouped<K, V> {
    /// Sorts values by key.
    pub(crate) fn new(values: impl IntoIterator<Item = (K, V)>) -> Self {
        let mut all: Vec<(K, V)> = values.into_iter().collect();
        all.sort_by_key(|(key, _)| *key);
        Self(all)
    }

    /// The values of a key.
    pub(crate) fn of(&self, key: K) -> impl DoubleEndedIterator<Item = &V> + ExactSizeIterator {
        let from = self.0.partition_point(|(k, _)| *k < key);
        let count = self.0[from..].partition_point(|(k, _)| *k == key);
        self.0[from..from + count].iter().map(|(_, value)| value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_of_a_key_stay_in_order() {
        let all = Grouped::new([(2, 'b'), (1, 'a'), (2, 'a'), (4, 'd'), (2, 'c')]);
        let of = |key: i32| all.of(key).collect::<String>();
        assert_eq!(
            [of(0), of(1), of(2), of(3), of(4)],
            ["", "a", "bac", "", "d"]
        );
    }
}
