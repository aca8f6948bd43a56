//! XML as a tree of elements, by the reader of the crate `quick-xml`; names lose their namespace prefix.

use quick_xml::events::{BytesStart, Event};
use quick_xml::{Reader, XmlVersion};

/// An element.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Element {
    /// Its name without prefix.
    pub(super) name: String,
    attributes: Vec<(String, String)>,
    pub(super) children: Vec<Element>,
    /// Its text, all pieces together.
    pub(super) text: String,
}

/// Deeper nesting than this is hostile.
const DEPTH_MAX: usize = 200;

/// Parses a whole text.
pub(super) fn parse(text: &str) -> Result<Element, String> {
    let mut reader = Reader::from_str(text);
    let mut open: Vec<Element> = vec![Element::default()];
    loop {
        let at = reader.buffer_position();
        let event = reader.read_event().map_err(|error| format!("byte {at}: {error}"))?;
        match event {
            Event::Start(start) => {
                if open.len() > DEPTH_MAX {
                    return Err(format!("byte {at}: nested more than {DEPTH_MAX} deep"));
                }
                open.push(element(&start)?);
            }
            Event::Empty(start) => {
                let element = element(&start)?;
                open.last_mut().ok_or("no root")?.children.push(element);
            }
            Event::End(_) => {
                let done = open.pop().ok_or("more ends than starts")?;
                open.last_mut().ok_or("more ends than starts")?.children.push(done);
            }
            Event::Text(text) => {
                open.last_mut().ok_or("no root")?.text.push_str(&text);
            }
            Event::GeneralRef(name) => {
                let text = match name.resolve_char_ref().map_err(|error| error.to_string())? {
                    Some(c) => c.to_string(),
                    None => quick_xml::escape::resolve_predefined_entity(&name)
                        .unwrap_or_default()
                        .to_owned(),
                };
                open.last_mut().ok_or("no root")?.text.push_str(&text);
            }
            Event::Eof => break,
            _ => {}
        }
    }
    if open.len() != 1 {
        return Err("the text ends inside an element".to_owned());
    }
    let mut root = open.pop().unwrap_or_default();
    if root.children.len() == 1 {
        Ok(root.children.remove(0))
    } else {
        Err("there is not one root element".to_owned())
    }
}

fn element(start: &BytesStart<'_>) -> Result<Element, String> {
    let mut attributes = Vec::new();
    for attribute in start.attributes() {
        let attribute = attribute.map_err(|error| error.to_string())?;
        let value = attribute
            .normalized_value(XmlVersion::Implicit1_0)
            .map_err(|error| error.to_string())?;
        attributes.push((attribute.key.local_name().as_ref().to_owned(), value.into_owned()));
    }
    Ok(Element { name: start.local_name().as_ref().to_owned(), attributes, ..Element::default() })
}

impl Element {
    /// The value of an attribute.
    pub(super) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// All descendants of a name, in order.
    pub(super) fn all<'a>(&'a self, name: &str, out: &mut Vec<&'a Element>) {
        for child in &self.children {
            if child.name == name {
                out.push(child);
            }
            child.all(name, out);
        }
    }

    /// Children of a name.
    pub(super) fn children_named<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Element> {
        self.children.iter().filter(move |child| child.name == name)
    }
}
