//! Ids of places. Their names are in the plan, which a digest names.

use ledger::text_id;

text_id! {
    /// A site.
    SiteId
}

text_id! {
    /// A zone: an area whose unseen gap is measured.
    ZoneId
}

text_id! {
    /// A stop: a place where the guard confirms presence.
    StopId
}

text_id! {
    /// A place from the site's own list: a room, a machine, a corner.
    PlaceId
}
