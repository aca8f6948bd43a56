//! Heads, leaves and proofs, from the kept hashes and the lines themselves.

use crate::backend::{LogRow, Select};
use crate::error::StoreError;
use crate::leaves::{Nodes, leaf_of};
use crate::store::Store;
use ledger::Digest;
use ledger::head::SignedHead;
use ledger::leaf::Leaf;
use ledger::receipt::{Proof, Receipt};

impl Store {
    /// The newest signed head of a log; none before the first.
    pub async fn published(&self, origin: &str) -> Result<Option<SignedHead>, StoreError> {
        if let Some(writing) = &self.writing
            && let Some(head) = writing.seen.borrow().published.get(origin)
        {
            return Ok(Some(head.clone()));
        }
        let log = self.log(origin).await?;
        let Some(row) = self.backend().head(log.log, log.size).await? else { return Ok(None) };
        let head = SignedHead::parse(&row.note);
        let head = head.map_err(|fault| StoreError::damaged(format!("a kept head: {fault}")))?;
        Ok(Some(head))
    }

    /// The leaf at an index.
    pub async fn leaf(&self, origin: &str, index: u64) -> Result<Leaf, StoreError> {
        let log = self.log(origin).await?;
        self.leaf_in(&log, index).await
    }

    /// Receipts for these indexes under a signed head of at least that size.
    pub async fn receipts(
        &self,
        head: &SignedHead,
        indexes: &[u64],
    ) -> Result<Vec<Receipt>, StoreError> {
        let log = self.log(&head.claimed().origin).await?;
        let size = head.claimed().size;
        self.check_inside(&log, size)?;
        let mut nodes = Nodes::new(self.backend(), &log);
        let mut receipts = Vec::with_capacity(indexes.len());
        for index in indexes.iter().copied() {
            if index >= size {
                return Err(outside(&log, index));
            }
            let path = nodes.inclusion(index, size).await?;
            let leaf = self.leaf_in(&log, index).await?;
            receipts.push(Receipt { leaf, proof: Proof { index, path, head: head.clone() } });
        }
        Ok(receipts)
    }

    /// The inclusion proof of a leaf in the tree of `size` leaves.
    pub async fn inclusion(
        &self,
        origin: &str,
        index: u64,
        size: u64,
    ) -> Result<Vec<Digest>, StoreError> {
        let log = self.log(origin).await?;
        self.check_inside(&log, size)?;
        if index >= size {
            return Err(outside(&log, index));
        }
        Nodes::new(self.backend(), &log).inclusion(index, size).await
    }

    /// The consistency proof between two sizes of a log, the older above 0.
    pub async fn consistency(
        &self,
        origin: &str,
        old: u64,
        new: u64,
    ) -> Result<Vec<Digest>, StoreError> {
        let log = self.log(origin).await?;
        self.check_inside(&log, new)?;
        if old == 0 || old > new {
            return Err(outside(&log, old));
        }
        Nodes::new(self.backend(), &log).consistency(old, new).await
    }

    /// The root over the first `size` leaves.
    pub async fn root_at(&self, origin: &str, size: u64) -> Result<Digest, StoreError> {
        let log = self.log(origin).await?;
        self.check_inside(&log, size)?;
        Nodes::new(self.backend(), &log).root(size).await
    }

    async fn leaf_in(&self, log: &LogRow, index: u64) -> Result<Leaf, StoreError> {
        if index >= log.size {
            return Err(outside(log, index));
        }
        if let Some(closing) = log.closing.as_ref().filter(|_| index + 1 == log.size) {
            let leaf = Leaf::parse(closing);
            return leaf.map_err(|fault| StoreError::damaged(format!("the closing leaf: {fault}")));
        }
        let select = Select::Range { log: log.log, indexes: index..index + 1 };
        let lines = self.backend().lines(&select, 1).await?;
        let line = lines.first();
        let line = line.ok_or_else(|| StoreError::damaged(format!("line {index} is missing")))?;
        Ok(leaf_of(line))
    }

    pub(crate) fn check_inside(&self, log: &LogRow, size: u64) -> Result<(), StoreError> {
        if size <= log.size { Ok(()) } else { Err(outside(log, size)) }
    }
}

fn outside(log: &LogRow, asked: u64) -> StoreError {
    StoreError::Outside { origin: log.origin.clone(), size: log.size, asked }
}
