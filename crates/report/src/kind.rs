//! The papers there are. A new one is a file under `papers` and a line in the table below.

use crate::page::Page;
use crate::papers;
use crate::pdf::PdfFault;
use crate::request::Request;

macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident = $name:literal => $compose:path,)*) => {
        /// A paper.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Kind {
            /// The night report.
            Night,
            $($(#[$doc])* $kind,)*
        }

        impl Kind {
            /// All of them.
            pub const ALL: &'static [Kind] = &[Kind::Night, $(Kind::$kind),*];

            /// The name by which it is asked for.
            pub fn name(self) -> &'static str {
                match self {
                    Kind::Night => "night",
                    $(Kind::$kind => $name,)*
                }
            }

            /// Sets the paper. `ident` names the document: equal input gives equal bytes.
            pub fn to_pdf(self, request: &Request<'_>, ident: &str) -> Result<Vec<u8>, PdfFault> {
                let page = Page::of(request);
                let form = match self {
                    Kind::Night => return page.sheet().to_pdf(ident, request.issue.issued_ms),
                    $(Kind::$kind => $compose(&page),)*
                };
                form.to_pdf(ident, request.issue.issued_ms)
            }
        }
    };
}

kinds! {
    /// What happened in an emergency: times, calls with delays, who knew what when.
    Incident = "incident" => papers::incident::compose,
    /// That a system is out, for all who must know, and the tag that hangs at it.
    Impairment = "impairment" => papers::impairment::compose,
    /// That a system is back.
    Restored = "restored" => papers::restored::compose,
    /// Hot work from permit to sign-off.
    Permit = "permit" => papers::permit::compose,
    /// The route of each guard, for the pocket.
    Route = "route" => papers::route::compose,
    /// The tag of every stop, to be cut out.
    Tags = "tags" => papers::tags::compose,
    /// A certificate of the record's keeper, drafted for counsel.
    Certificate = "certificate" => papers::certificate::compose,
    /// Who worked when.
    Hours = "hours" => papers::hours::compose,
}
