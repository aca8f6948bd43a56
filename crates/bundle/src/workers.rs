//! Threads, if the caller has any: checking signatures is most of the work and each is independent.

/// Applies a function to many values, in order.
pub trait Workers {
    /// The results in the order of the items.
    fn map<I: Send, O: Send>(&self, items: Vec<I>, work: impl Fn(I) -> O + Sync) -> Vec<O>;
}

/// No threads at all, as in a browser.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OneThread;

impl Workers for OneThread {
    fn map<I: Send, O: Send>(&self, items: Vec<I>, work: impl Fn(I) -> O + Sync) -> Vec<O> {
        items.into_iter().map(work).collect()
    }
}
