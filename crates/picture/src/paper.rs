//! Ink for paper: black, one warm grey, one ember that prints dark.

/// The drawing with its inks inside, for readers of SVG that know no outside style sheet.
/// `family` and `mono` are the font families to set texts in.
pub fn paper_style(svg: &str, family: &str, mono: &str) -> String {
    let style = STYLE.replace("FAMILY", family).replace("MONO", mono);
    match svg.find('>') {
        Some(end) => format!("{}<style>{style}</style>{}", &svg[..=end], &svg[end + 1..]),
        None => svg.to_owned(),
    }
}

/// A plan's drawing with the ground left white and its texts in a family of the page.
pub fn paper_plan(svg: &str, family: &str) -> String {
    svg.replace("Next,sans-serif", family).replace(".ground{fill:#f7f2e8}", ".ground{fill:#fff}")
}

const STYLE: &str = "\
text{fill:#1d1913;text-anchor:middle;font-family:FAMILY;font-size:11px;font-weight:400}\
.hour{fill:#574c3c;font-family:MONO;font-size:12px}\
.gaplab{fill:#96200a;font-weight:700;font-size:12px}\
.rim{fill:none;stroke:#cfc4b0;stroke-width:1}\
.tickmark{stroke:#cfc4b0;stroke-width:1}\
.lane{fill:none;stroke:#cfc4b0;stroke-width:.5}\
.seen{fill:#93825f}\
.look{stroke:#1d1913;stroke-width:1.3}\
.hole{fill:#ffffff}\
.hatch{fill:none;stroke:#96200a;stroke-width:1.4}\
.gap{fill:none;stroke:#96200a;stroke-width:.8}\
.lead{fill:none;stroke:#96200a;stroke-width:.8}\
.late{fill:#574c3c}\
.tail{fill:none;stroke:#6f4300;stroke-width:1.6}\
.alarm{stroke:#96200a;stroke-width:2}\
.alarmflag{fill:#96200a}\
.startmark{stroke:#1d1913;stroke-width:2.4}\
.held{fill:none;stroke:#96200a;stroke-width:1.2;stroke-dasharray:2 3}\
.unclear{fill:none;stroke:#574c3c;stroke-width:1.5;stroke-dasharray:3 3}\
.unheard{fill:none;stroke:#574c3c;stroke-width:1.2;stroke-dasharray:1 3}\
.now{stroke:#1d1913;stroke-width:2;stroke-dasharray:4 3}\
.c0{font-size:15px;font-weight:700}\
.c1{font-size:12px;fill:#574c3c}\
.c2{font-size:13px;font-weight:700;fill:#96200a}\
.c3{font-size:11px;fill:#96200a}\
.strip text{font-size:17px}\
.strip .hour{font-size:17px}\
.before{fill:none;stroke:#1d1913;stroke-width:1.6;stroke-dasharray:5 4}\
.work{fill:#574c3c;stroke:#1d1913;stroke-width:1.6}\
.tailband{fill:#cfc4b0;stroke:#1d1913;stroke-width:1.6}\
.looks{fill:none;stroke:#1d1913;stroke-width:1.6}\
.strip .look{stroke:#1d1913;stroke-width:4}";
