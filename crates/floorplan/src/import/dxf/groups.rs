//! The text of a DXF file as pairs of group code and value, and the entities they make (DXF Reference, *DXF Format*
//! and *Group Codes in Numerical Order*).

use super::super::ImportError;

/// One group: its code and its value, blanks cut off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Group<'a> {
    pub(super) code: i32,
    pub(super) value: &'a str,
}

impl Group<'_> {
    /// It states a coordinate of a point.
    fn is_place(&self) -> bool {
        (10..=18).contains(&self.code) || (20..=28).contains(&self.code)
    }

    fn is_number(&self) -> bool {
        self.value.parse::<f64>().is_ok_and(f64::is_finite)
    }

    /// The value as a number; zero where it is none.
    pub(super) fn number(&self) -> f64 {
        self.value.parse::<f64>().ok().filter(|n| n.is_finite()).unwrap_or(0.0)
    }
}

/// An entity: its kind and its groups up to the next one.
#[derive(Debug, Clone)]
pub(super) struct Entity<'a> {
    pub(super) kind: &'a str,
    pub(super) groups: Vec<Group<'a>>,
}

impl<'a> Entity<'a> {
    pub(super) fn text(&self, code: i32) -> Option<&'a str> {
        self.groups.iter().find(|group| group.code == code).map(|group| group.value)
    }

    pub(super) fn number(&self, code: i32) -> Option<f64> {
        self.groups.iter().find(|group| group.code == code).map(Group::number)
    }

    pub(super) fn whole(&self, code: i32) -> i64 {
        self.number(code).unwrap_or(0.0) as i64
    }

    /// The layer it is drawn on; `0` when none is said.
    pub(super) fn layer(&self) -> &'a str {
        self.text(8).unwrap_or("0")
    }
}

/// A file taken apart.
#[derive(Debug, Clone, Default)]
pub(super) struct Sections<'a> {
    /// `$INSUNITS`, when the header states it.
    pub(super) unit: Option<i64>,
    /// Blocks by name: base point and entities.
    pub(super) blocks: Vec<(&'a str, [f64; 2], Vec<Entity<'a>>)>,
    /// What is drawn.
    pub(super) entities: Vec<Entity<'a>>,
}

/// Takes a text apart.
pub(super) fn sections(text: &str) -> Result<Sections<'_>, ImportError> {
    let malformed = |why: String| ImportError::Malformed { format: "DXF", why };
    let mut lines = text.lines().enumerate();
    let mut out = Sections::default();
    let (mut section, mut named, mut pending) = ("", false, None::<Entity<'_>>);
    let mut variable = "";
    while let Some((number, code)) = lines.next() {
        let code = code.trim();
        let Some((_, value)) = lines.next() else {
            if code.is_empty() {
                break;
            }
            let code: String = code.chars().take(20).collect();
            return Err(malformed(format!("it ends after the code {code:?}: the file is cut off")));
        };
        let Ok(code) = code.parse::<i32>() else {
            let code: String = code.chars().take(20).collect();
            let why = format!(
                "line {} should hold a group code and holds {code:?}: save it as ASCII DXF",
                number + 1
            );
            return Err(malformed(why));
        };
        let group = Group { code, value: value.trim() };
        if pending.is_some() && group.is_place() && !group.is_number() {
            let why = format!(
                "line {} holds {:?} where a coordinate stands: put that entity right or delete it, and save the drawing again",
                number + 2,
                group.value
            );
            return Err(malformed(why));
        }
        match (code, group.value) {
            (0, "SECTION") => (section, named) = ("", true),
            (2, name) if named => (section, named) = (name, false),
            (0, kind) => {
                out.take(section, pending.take());
                if kind == "EOF" {
                    break;
                }
                pending = matches!(section, "ENTITIES" | "BLOCKS")
                    .then(|| Entity { kind, groups: Vec::new() });
            }
            (9, name) if section == "HEADER" => variable = name,
            (70, _) if section == "HEADER" && variable == "$INSUNITS" => {
                out.unit = Some(group.number() as i64);
            }
            _ => {
                if let Some(entity) = &mut pending {
                    entity.groups.push(group);
                }
            }
        }
    }
    out.take(section, pending);
    Ok(out)
}

impl<'a> Sections<'a> {
    fn take(&mut self, section: &str, entity: Option<Entity<'a>>) {
        let Some(entity) = entity else { return };
        match (section, entity.kind) {
            (_, "ENDSEC" | "ENDBLK") => {}
            ("BLOCKS", "BLOCK") => {
                let base = [entity.number(10).unwrap_or(0.0), entity.number(20).unwrap_or(0.0)];
                self.blocks.push((entity.text(2).unwrap_or(""), base, Vec::new()));
            }
            ("BLOCKS", _) => {
                if let Some((_, _, inside)) = self.blocks.last_mut() {
                    inside.push(entity);
                }
            }
            _ => self.entities.push(entity),
        }
    }
}
