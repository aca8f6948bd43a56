//! Keeps what has not changed: a block that is the same as before keeps its key, so that its element,
//! its focus and what is being typed into it stay.

use phone::view::Block;

/// A block with its key.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Keyed {
    pub(crate) key: u64,
    pub(crate) block: Block,
}

/// Gives each block the key of its equal before, else a new one. A field is its own equal whatever
/// stands in it.
pub(crate) fn key(mut before: Vec<Keyed>, blocks: Vec<Block>) -> Vec<Keyed> {
    let mut next = before.iter().map(|keyed| keyed.key + 1).max().unwrap_or(0);
    blocks
        .into_iter()
        .map(|block| {
            let same = before.iter().position(|keyed| is_same(&keyed.block, &block));
            let key = match same {
                Some(place) => before.remove(place).key,
                None => {
                    next += 1;
                    next
                }
            };
            Keyed { key, block }
        })
        .collect()
}

fn is_same(before: &Block, now: &Block) -> bool {
    match (before, now) {
        (
            Block::Input { field: a, label: l, value: v, .. },
            Block::Input { field: b, label: m, value: w, .. },
        ) => {
            // A field that was emptied by the program is drawn anew.
            a == b && l == m && (!w.is_empty() || v.is_empty())
        }
        _ => before == now,
    }
}
