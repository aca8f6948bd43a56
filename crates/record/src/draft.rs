//! From an entry to a line ready to be signed.

use crate::{Entry, Words};
use ledger::{
    Auth, CanonicalFault, Clk, DeviceId, Digest, HeadRef, Line, LineId, PersonId, Private, WatchId,
    line::VERSION,
};

/// Where the next line goes: the end of one device's chain for one watch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The device.
    pub dev: DeviceId,
    /// The watch.
    pub watch: WatchId,
    /// The number of the next line.
    pub seq: u64,
    /// The line before; zeros at 0.
    pub prev: LineId,
}

impl Place {
    /// The start of a chain.
    pub fn start(dev: DeviceId, watch: WatchId) -> Place {
        Place { dev, watch, seq: 0, prev: LineId::default() }
    }

    /// The place after a line with this id.
    pub fn after(&self, id: LineId) -> Place {
        Place { seq: self.seq + 1, prev: id, ..self.clone() }
    }
}

/// An entry with everything that its line needs but the signature.
#[derive(Debug, Clone)]
pub struct Draft {
    /// Who states it.
    pub who: PersonId,
    /// How they were known.
    pub auth: Auth,
    /// The device's clocks now.
    pub clk: Clk,
    /// The newest head that the device has verified.
    pub head: Option<HeadRef>,
    /// Build id.
    pub app: String,
    /// What is stated.
    pub entry: Entry,
    /// Words, names, position.
    pub words: Words,
    /// Sixteen random bytes, used only if there are words.
    pub salt: [u8; 16],
}

impl Draft {
    /// Makes the line for a place in a chain, and its private line if there are words.
    pub fn line(&self, place: &Place) -> Result<(Line, Option<Private>), CanonicalFault> {
        let private = if self.words.is_empty() { None } else { Some(self.words.seal(self.salt)?) };
        let digest = match &private {
            Some(private) => Some(Digest::of(&private.to_bytes()?)),
            None => None,
        };
        let line = Line {
            v: VERSION,
            kind: self.entry.kind().to_owned(),
            dev: place.dev,
            watch: place.watch.clone(),
            seq: place.seq,
            prev: place.prev,
            who: self.who.clone(),
            auth: self.auth,
            clk: self.clk.clone(),
            head: self.head.clone(),
            app: self.app.clone(),
            body: self.entry.to_body(),
            private: digest,
        };
        line.to_bytes()?;
        Ok((line, private))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{HowSeen, Seen, StopId, ZoneId};
    use ledger::{DeviceKey, Verified};

    fn draft(words: Words) -> Draft {
        let clk = Clk {
            wall: 1_772_500_000_000,
            mono: 5,
            boot: "b1".into(),
            off: Some(-20),
            err: Some(40),
            age: Some(1000),
            tz: -360,
        };
        let entry = Seen {
            stop: StopId::new("stair-b-7").unwrap(),
            zone: ZoneId::new("stair-b").unwrap(),
            how: HowSeen::Hand,
            tag: None,
            round: 3,
            fix: false,
        };
        Draft {
            who: PersonId::new("p-7").unwrap(),
            auth: Auth::Pin,
            clk,
            head: None,
            app: "test".into(),
            entry: entry.into(),
            words,
            salt: [9; 16],
        }
    }

    #[test]
    fn what_was_stated_comes_back_from_the_signed_bytes() {
        let key = DeviceKey::from_seed([1; 32]);
        let place = Place::start(key.device(), WatchId::new("w-1").unwrap());
        let draft = draft(Words::default());
        let (line, private) = draft.line(&place).unwrap();
        assert_eq!(private, None);
        let verified = Verified::check(line.sign(&key).unwrap(), &key.public()).unwrap();
        assert_eq!(Entry::of(&verified), Ok(draft.entry));
        let next = place.after(verified.id());
        assert_eq!((next.seq, next.prev), (1, verified.id()));
    }

    #[test]
    fn typed_words_stay_out_of_the_line() {
        let key = DeviceKey::from_seed([1; 32]);
        let place = Place::start(key.device(), WatchId::new("w-1").unwrap());
        let words = Words::from_text("Door wedged\n\nby a bucke\u{301}t\u{7}");
        let (line, private) = draft(words).line(&place).unwrap();
        let private = private.unwrap();
        assert_eq!(line.private, Some(Digest::of(&private.to_bytes().unwrap())));
        assert!(!String::from_utf8(line.to_bytes().unwrap()).unwrap().contains("wedged"));
        assert_eq!(Words::open(&private).words, ["Door wedged", "by a buck\u{e9}t"]);
    }
}
