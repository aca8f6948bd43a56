//! A map and a set that are sorted lists. Each pair of types of the library's own tree brings some 7 kB, which a
//! phone fetches before it can open; a sorted list brings a tenth of it. For what is short or comes in order:
//! putting something into the middle moves all that stands behind it.

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use serde::ser::{Serialize, Serializer};
use std::borrow::Borrow;
use std::cmp::Ordering;
use std::fmt;
use std::marker::PhantomData;
use std::ops::{Index, RangeTo};

/// Values by key, in the order of the keys.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Map<K, V> {
    pairs: Vec<(K, V)>,
}

/// Items in order, each once.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Set<T> {
    map: Map<T, ()>,
}

/// Where an item stands among so many, or where it belongs: one piece of code for all types. The end is looked at
/// first, where most that comes belongs.
fn place(len: usize, compare: &mut dyn FnMut(usize) -> Ordering) -> Result<usize, usize> {
    let (mut low, mut high) = (0, len);
    let mut middle = len.saturating_sub(1);
    while low < high {
        match compare(middle) {
            Ordering::Less => low = middle + 1,
            Ordering::Equal => return Ok(middle),
            Ordering::Greater => high = middle,
        }
        middle = low + (high - low) / 2;
    }
    Err(low)
}

impl<K, V> Map<K, V> {
    /// An empty one.
    pub const fn new() -> Map<K, V> {
        Map { pairs: Vec::new() }
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.pairs.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.pairs.is_empty()
    }

    /// Forgets all.
    pub fn clear(&mut self) {
        self.pairs.clear();
    }

    /// Keys and values, in order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (&K, &V)> + ExactSizeIterator {
        self.pairs.iter().map(|(key, value)| (key, value))
    }

    /// Keys and values, the values to be changed.
    pub fn iter_mut(&mut self) -> impl DoubleEndedIterator<Item = (&K, &mut V)> {
        self.pairs.iter_mut().map(|(key, value)| (&*key, value))
    }

    /// Takes the first out.
    pub fn pop_first(&mut self) -> Option<(K, V)> {
        (!self.pairs.is_empty()).then(|| self.pairs.remove(0))
    }

    /// Keys, in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &K> + ExactSizeIterator {
        self.pairs.iter().map(|(key, _)| key)
    }

    /// Values, in the order of their keys.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &V> + ExactSizeIterator {
        self.pairs.iter().map(|(_, value)| value)
    }

    /// As [`Map::values`], to be changed.
    pub fn values_mut(&mut self) -> impl DoubleEndedIterator<Item = &mut V> + ExactSizeIterator {
        self.pairs.iter_mut().map(|(_, value)| value)
    }

    /// The values alone.
    pub fn into_values(self) -> impl DoubleEndedIterator<Item = V> + ExactSizeIterator {
        self.pairs.into_iter().map(|(_, value)| value)
    }

    /// The first.
    pub fn first_key_value(&self) -> Option<(&K, &V)> {
        self.iter().next()
    }

    /// The last.
    pub fn last_key_value(&self) -> Option<(&K, &V)> {
        self.iter().next_back()
    }

    /// Keeps those alone of which this is true.
    pub fn retain(&mut self, mut keep: impl FnMut(&K, &mut V) -> bool) {
        self.pairs.retain_mut(|(key, value)| keep(key, value));
    }
}

impl<K: Ord, V> Map<K, V> {
    fn place<Q: Ord + ?Sized>(&self, key: &Q) -> Result<usize, usize>
    where
        K: Borrow<Q>,
    {
        place(self.pairs.len(), &mut |at| self.pairs[at].0.borrow().cmp(key))
    }

    /// The value of a key.
    pub fn get<Q: Ord + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        self.place(key).ok().map(|at| &self.pairs[at].1)
    }

    /// As [`Map::get`], to be changed.
    pub fn get_mut<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<&mut V>
    where
        K: Borrow<Q>,
    {
        self.place(key).ok().map(|at| &mut self.pairs[at].1)
    }

    /// Whether there is such a key.
    pub fn contains_key<Q: Ord + ?Sized>(&self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.place(key).is_ok()
    }

    /// Puts a value in; gives what the key had before.
    pub fn insert(&mut self, key: K, value: V) -> Option<V> {
        match self.place(&key) {
            Ok(at) => Some(std::mem::replace(&mut self.pairs[at].1, value)),
            Err(at) => {
                self.pairs.insert(at, (key, value));
                None
            }
        }
    }

    /// Takes a value out.
    pub fn remove<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        self.place(key).ok().map(|at| self.pairs.remove(at).1)
    }

    /// Those whose keys come before one.
    pub fn range(&self, before: RangeTo<K>) -> impl DoubleEndedIterator<Item = (&K, &V)> {
        let (Ok(end) | Err(end)) = self.place(&before.end);
        self.pairs[..end].iter().map(|(key, value)| (key, value))
    }

    /// The value of a key; if it has none, it gets this one.
    pub fn or_insert_with(&mut self, key: K, value: impl FnOnce() -> V) -> &mut V {
        let at = match self.place(&key) {
            Ok(at) => at,
            Err(at) => {
                self.pairs.insert(at, (key, value()));
                at
            }
        };
        &mut self.pairs[at].1
    }

    /// The value of a key; if it has none, it gets an empty one.
    pub fn or_default(&mut self, key: K) -> &mut V
    where
        V: Default,
    {
        self.or_insert_with(key, V::default)
    }
}

impl<T> Set<T> {
    /// An empty one.
    pub const fn new() -> Set<T> {
        Set { map: Map::new() }
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.map.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.map.is_empty()
    }

    /// Forgets all.
    pub fn clear(&mut self) {
        self.map.clear();
    }

    /// Items, in order.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &T> + ExactSizeIterator {
        self.map.keys()
    }

    /// The first.
    pub fn first(&self) -> Option<&T> {
        self.iter().next()
    }

    /// Keeps those alone of which this is true.
    pub fn retain(&mut self, mut keep: impl FnMut(&T) -> bool) {
        self.map.retain(|item, ()| keep(item));
    }
}

impl<T: Ord> Set<T> {
    /// Puts an item in; true if it was not there.
    pub fn insert(&mut self, item: T) -> bool {
        self.map.insert(item, ()).is_none()
    }

    /// Takes an item out; true if it was there.
    pub fn remove<Q: Ord + ?Sized>(&mut self, item: &Q) -> bool
    where
        T: Borrow<Q>,
    {
        self.map.remove(item).is_some()
    }

    /// Whether an item is there.
    pub fn contains<Q: Ord + ?Sized>(&self, item: &Q) -> bool
    where
        T: Borrow<Q>,
    {
        self.map.contains_key(item)
    }

    /// The items that come before one.
    pub fn range(&self, before: RangeTo<T>) -> impl DoubleEndedIterator<Item = &T> {
        self.map.range(before).map(|(item, ())| item)
    }
}

impl<K, V> Default for Map<K, V> {
    fn default() -> Self {
        Map::new()
    }
}

impl<T> Default for Set<T> {
    fn default() -> Self {
        Set::new()
    }
}

impl<K: fmt::Debug, V: fmt::Debug> fmt::Debug for Map<K, V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_map().entries(self.iter()).finish()
    }
}

impl<T: fmt::Debug> fmt::Debug for Set<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self.iter()).finish()
    }
}

/// Of two values with one key the later counts.
impl<K: Ord, V> Extend<(K, V)> for Map<K, V> {
    fn extend<I: IntoIterator<Item = (K, V)>>(&mut self, pairs: I) {
        for (key, value) in pairs {
            self.insert(key, value);
        }
    }
}

impl<T: Ord> Extend<T> for Set<T> {
    fn extend<I: IntoIterator<Item = T>>(&mut self, items: I) {
        for item in items {
            self.insert(item);
        }
    }
}

impl<K: Ord, V> FromIterator<(K, V)> for Map<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(pairs: I) -> Self {
        let mut map = Map::new();
        map.extend(pairs);
        map
    }
}

impl<T: Ord> FromIterator<T> for Set<T> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        let mut set = Set::new();
        set.extend(items);
        set
    }
}

impl<K, V> IntoIterator for Map<K, V> {
    type Item = (K, V);
    type IntoIter = std::vec::IntoIter<(K, V)>;

    fn into_iter(self) -> Self::IntoIter {
        self.pairs.into_iter()
    }
}

impl<T> IntoIterator for Set<T> {
    type Item = T;
    type IntoIter = std::iter::Map<std::vec::IntoIter<(T, ())>, fn((T, ())) -> T>;

    fn into_iter(self) -> Self::IntoIter {
        self.map.pairs.into_iter().map(|(item, ())| item)
    }
}

impl<K: Ord + Borrow<Q>, V, Q: Ord + ?Sized> Index<&Q> for Map<K, V> {
    type Output = V;

    fn index(&self, key: &Q) -> &V {
        self.get(key).expect("there is such a key")
    }
}

impl<K: Serialize, V: Serialize> Serialize for Map<K, V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.iter())
    }
}

impl<T: Serialize> Serialize for Set<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.iter())
    }
}

struct Reading<T>(PhantomData<T>);

impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>> Visitor<'de> for Reading<Map<K, V>> {
    type Value = Map<K, V>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a map")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut pairs: A) -> Result<Map<K, V>, A::Error> {
        let mut map = Map::new();
        while let Some((key, value)) = pairs.next_entry()? {
            map.insert(key, value);
        }
        Ok(map)
    }
}

impl<'de, T: Deserialize<'de> + Ord> Visitor<'de> for Reading<Set<T>> {
    type Value = Set<T>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a sequence")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Set<T>, A::Error> {
        let mut set = Set::new();
        while let Some(item) = items.next_element()? {
            set.insert(item);
        }
        Ok(set)
    }
}

impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>> Deserialize<'de> for Map<K, V> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(Reading::<Map<K, V>>(PhantomData))
    }
}

impl<'de, T: Deserialize<'de> + Ord> Deserialize<'de> for Set<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_seq(Reading::<Set<T>>(PhantomData))
    }
}

#[cfg(test)]
mod tests {
    use super::{Map, Set};
    use proptest::prelude::*;
    use std::collections::{BTreeMap, BTreeSet};

    proptest! {
        /// The library's tree is the judge: whatever is put in and taken out, both hold the same.
        #[test]
        fn as_the_library_keeps_it(steps in prop::collection::vec((any::<bool>(), 0u8..20, any::<u8>()), 0..80)) {
            let (mut ours, mut theirs) = (Map::new(), BTreeMap::new());
            let (mut set, mut their_set) = (Set::new(), BTreeSet::new());
            for (goes_in, key, value) in steps {
                if goes_in {
                    prop_assert_eq!(ours.insert(key, value), theirs.insert(key, value));
                    prop_assert_eq!(set.insert(key), their_set.insert(key));
                } else {
                    prop_assert_eq!(ours.remove(&key), theirs.remove(&key));
                    prop_assert_eq!(set.remove(&key), their_set.remove(&key));
                }
                prop_assert_eq!(ours.get(&key), theirs.get(&key));
                prop_assert_eq!(ours.first_key_value(), theirs.first_key_value());
                prop_assert_eq!(ours.last_key_value(), theirs.last_key_value());
                prop_assert!(set.range(..key).eq(their_set.range(..key)));
            }
            prop_assert!(ours.iter().eq(theirs.iter()));
            prop_assert!(set.iter().eq(their_set.iter()));
            let text = serde_json::to_string(&ours).unwrap();
            prop_assert_eq!(&text, &serde_json::to_string(&theirs).unwrap());
            prop_assert_eq!(serde_json::from_str::<Map<u8, u8>>(&text).unwrap(), ours);
            let text = serde_json::to_string(&set).unwrap();
            prop_assert_eq!(&text, &serde_json::to_string(&their_set).unwrap());
            prop_assert_eq!(crate::json::parse::<Set<u8>>(&text).unwrap(), set);
        }
    }
}
