//! One-column forms: each field with the reason why it is asked beside it.

use maud::{Markup, html};

/// A field: what it is called, why it is asked, what is wrong with what was typed.
pub(crate) struct Field<'a> {
    pub(crate) name: &'a str,
    pub(crate) label: &'a str,
    pub(crate) why: &'a str,
    pub(crate) fault: Option<&'a str>,
}

impl<'a> Field<'a> {
    /// A field without fault.
    pub(crate) fn new(name: &'a str, label: &'a str, why: &'a str) -> Field<'a> {
        Field { name, label, why, fault: None }
    }

    /// With the fault that was found, if one was.
    pub(crate) fn fault(self, fault: Option<&'a str>) -> Field<'a> {
        Field { fault, ..self }
    }

    /// Puts a control under its label and the reason beside it.
    pub(crate) fn around(&self, control: Markup) -> Markup {
        let why = format!("{}-why", self.name);
        html! {
            div .field .faulty[self.fault.is_some()] {
                div {
                    label for=(self.name) { (self.label) }
                    (control)
                    @if let Some(fault) = self.fault {
                        p.fault id={ (self.name) "-fault" } { (fault) }
                    }
                }
                p.why id=(why) { (self.why) }
            }
        }
    }

    /// A one-line text.
    pub(crate) fn text(&self, kind: &str, value: &str, required: bool) -> Markup {
        self.around(html! {
            input type=(kind) id=(self.name) name=(self.name) value=(value) required[required]
                autocomplete=(filled_by_browser(self.name))
                aria-describedby=(self.described()) aria-invalid=[self.fault.map(|_| "true")]
                maxlength="300";
        })
    }

    /// A whole number.
    pub(crate) fn number(&self, value: &str, min: i64, max: i64) -> Markup {
        self.around(html! {
            input type="number" id=(self.name) name=(self.name) value=(value) min=(min) max=(max)
                inputmode="numeric" aria-describedby=(self.described())
                aria-invalid=[self.fault.map(|_| "true")];
        })
    }

    /// Text of several lines.
    pub(crate) fn area(&self, value: &str, rows: u8) -> Markup {
        self.around(html! {
            textarea id=(self.name) name=(self.name) rows=(rows) maxlength="4000"
                aria-describedby=(self.described()) { (value) }
        })
    }

    /// One of several.
    pub(crate) fn choice<'b>(
        &self,
        options: impl IntoIterator<Item = (String, &'b str)>,
        chosen: &str,
    ) -> Markup {
        self.around(html! {
            select id=(self.name) name=(self.name) aria-describedby=(self.described()) {
                @for (value, word) in options {
                    option value=(value) selected[value == chosen] { (word) }
                }
            }
        })
    }

    fn described(&self) -> String {
        match self.fault {
            Some(_) => format!("{0}-fault {0}-why", self.name),
            None => format!("{}-why", self.name),
        }
    }
}

/// What a password keeper may fill in; the desk's other fields are never those of the person typing.
fn filled_by_browser(name: &str) -> &'static str {
    match name {
        "login" => "username",
        "password" | "passkey_password" => "current-password",
        "new_password" => "new-password",
        _ => "off",
    }
}

/// Several that may each be chosen, under one legend.
pub(crate) fn checks(
    name: &str,
    legend: &str,
    why: &str,
    options: impl IntoIterator<Item = (String, String)>,
    chosen: impl Fn(&str) -> bool,
) -> Markup {
    html! {
        fieldset.field aria-describedby={ (name) "-why" } {
            legend { (legend) }
            div {
                @for (value, word) in options {
                    label.check {
                        input type="checkbox" name=(name) value=(value) checked[chosen(&value)];
                        span { (word) }
                    }
                }
            }
            p.why id={ (name) "-why" } { (why) }
        }
    }
}
