//! The one loop: an event changes the model, the drawing is kept, the worker is asked.

use super::bridge;
use crate::canvas::Sight;
use crate::thinking::Measures;
use crate::{Drawing, Edit, Event, Model, Thought, update};
use floorplan::Plan;
use leptos::prelude::*;
use serde::{Deserialize, Serialize};
use std::cell::Cell;
use std::collections::BTreeMap;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;
use wasm_bindgen_futures::spawn_local;
use words::Lang;

/// Everything the screen shows.
#[derive(Clone, Copy)]
pub(crate) struct Desk {
    pub(crate) model: RwSignal<Model>,
    /// The drawing or the level shown has changed.
    pub(crate) version: RwSignal<u64>,
    pub(crate) sight: RwSignal<Sight>,
    /// The board in pixels.
    pub(crate) window: RwSignal<[f64; 2]>,
    pub(crate) thought: RwSignal<Option<Thought>>,
    /// The worker is at work on the newest change.
    pub(crate) thinks: RwSignal<bool>,
    /// Addresses of pictures by key.
    pub(crate) addresses: RwSignal<BTreeMap<String, String>>,
    /// A drawing kept earlier, with its time in words.
    pub(crate) offer: RwSignal<Option<(String, Drawing)>>,
    pub(crate) keeps: RwSignal<bool>,
    pub(crate) picture_fault: RwSignal<bool>,
    /// Saving was asked for although something is to be put right.
    pub(crate) warned: RwSignal<bool>,
    pub(crate) lang: Lang,
    site: StoredValue<String>,
    measures: StoredValue<String>,
    /// The plan as the site has it.
    saved: StoredValue<Option<Plan>>,
}

/// What the browser keeps between visits.
#[derive(Serialize, Deserialize)]
struct KeptDrawing {
    at_ms: f64,
    drawing: Drawing,
}

thread_local! {
    static DESK: Cell<Option<Desk>> = const { Cell::new(None) };
}

/// Does something with the desk once there is one.
pub(crate) fn with(what: impl FnOnce(Desk)) {
    if let Some(desk) = DESK.get() {
        what(desk);
    }
}

impl Desk {
    /// Reads what the page says and begins with the site's plan.
    pub(crate) fn begin(root: &web_sys::Element) -> Desk {
        let said = |name: &str| root.get_attribute(name).unwrap_or_default();
        let lang = Lang::from_tag(&said("data-lang"));
        let plan = document().get_element_by_id("plan-now");
        let plan = plan.and_then(|area| area.text_content()).unwrap_or_default();
        let saved = Plan::read(plan.as_bytes()).ok();
        let ground = words::drawing::new_level(lang);
        let drawing = match &saved {
            Some(plan) => Drawing::of(plan.clone(), ground),
            None => Drawing::empty(&said("data-name"), ground),
        };
        let window = [800.0, 560.0];
        let model = Model::new(drawing, lang);
        let sight = Sight::of(&model.drawing, &model.level, window);
        let desk = Desk {
            model: RwSignal::new(model),
            version: RwSignal::new(0),
            sight: RwSignal::new(sight),
            window: RwSignal::new(window),
            thought: RwSignal::new(None),
            thinks: RwSignal::new(false),
            addresses: RwSignal::new(BTreeMap::new()),
            offer: RwSignal::new(None),
            keeps: RwSignal::new(true),
            picture_fault: RwSignal::new(false),
            warned: RwSignal::new(false),
            lang,
            site: StoredValue::new(said("data-site")),
            measures: StoredValue::new(said("data-measures")),
            saved: StoredValue::new(saved),
        };
        DESK.set(Some(desk));
        desk
    }

    /// Looks for a kept drawing and asks the worker for the first time.
    pub(crate) fn start(self) {
        self.measure_window();
        self.show_all();
        self.ask();
        spawn_local(async move {
            let text = bridge::kept(&self.site.get_value()).await.as_string();
            let kept = text.and_then(|text| serde_json::from_str::<KeptDrawing>(&text).ok());
            let Some(kept) = kept else { return };
            if self.saved.with_value(|saved| saved.as_ref() == Some(&kept.drawing.plan)) {
                // Nothing but the pictures is missing.
                self.take(kept.drawing);
                return;
            }
            let when = js_sys::Date::new(&JsValue::from_f64(kept.at_ms));
            let when = when.to_locale_string(self.lang.tag(), &JsValue::UNDEFINED);
            self.offer.set(Some((String::from(when), kept.drawing)));
        });
    }

    /// Lets something happen.
    pub(crate) fn happen(self, event: Event) {
        let before = self.version.get_untracked();
        let level = self.model.with_untracked(|model| model.level.clone());
        self.model.update(|model| update(event, model));
        let (now, other) = self.model.with_untracked(|model| (model.version, model.level != level));
        if other {
            self.show_all();
        }
        if now != before {
            self.version.set(now);
            self.warned.set(false);
            self.keep();
            self.ask();
        }
    }

    /// A field was changed.
    pub(crate) fn edit(self, edit: Edit) {
        self.happen(Event::Edit(edit));
    }

    /// Begins with another drawing; what was there can be taken back.
    pub(crate) fn take(self, drawing: Drawing) {
        self.offer.set(None);
        self.model.update(|model| {
            let version = model.version + 1;
            *model = Model::new(drawing, self.lang);
            model.version = version;
        });
        self.version.set(self.model.with_untracked(|model| model.version));
        self.show_all();
        self.look_up_pictures();
        self.ask();
    }

    /// Forgets the drawing that was kept.
    pub(crate) fn drop_offer(self) {
        self.offer.set(None);
        spawn_local(async move {
            bridge::forget(&self.site.get_value()).await;
        });
    }

    fn keep(self) {
        let drawing = self.model.with_untracked(|model| model.drawing.clone());
        let kept = KeptDrawing { at_ms: js_sys::Date::now(), drawing };
        let Ok(text) = serde_json::to_string(&kept) else { return };
        spawn_local(async move {
            let done = bridge::keep(&self.site.get_value(), &text).await;
            self.keeps.set(done.is_truthy());
        });
    }

    fn ask(self) {
        let plan = self.model.with_untracked(|model| model.drawing.plan.canonical());
        self.thinks.set(true);
        let ticket = self.version.get_untracked() as f64;
        self.measures.with_value(|measures| bridge::ask(ticket, &plan, measures));
    }

    /// An answer for the newest change is shown, an older one is not.
    pub(crate) fn thought(self, ticket: u64, text: &str) {
        if ticket != self.version.get_untracked() {
            return;
        }
        let Ok(thought) = serde_json::from_str::<Thought>(text) else { return };
        let thought = self.thought.with_untracked(|before| match before {
            Some(before) => thought.after(before),
            None => thought,
        });
        self.thinks.set(thought.pass + 1 < crate::thinking::PASSES.len());
        let same = self.thought.with_untracked(|before| {
            before
                .as_ref()
                .is_some_and(|before| Thought { pass: thought.pass, ..before.clone() } == thought)
        });
        if !same {
            self.thought.set(Some(thought));
        }
    }

    /// What the numbers rest on.
    pub(crate) fn share_percent(self) -> i64 {
        let measures = self.measures.with_value(|text| serde_json::from_str::<Measures>(text).ok());
        measures.map_or(0, |measures| measures.share_permille / 10)
    }

    /// Shows all of the level.
    pub(crate) fn show_all(self) {
        let window = self.window.get_untracked();
        let sight = self.model.with_untracked(|m| Sight::of(&m.drawing, &m.level, window));
        self.sight.set(sight);
        let middle = sight.place(window[0] / 2.0, window[1] / 2.0);
        self.model.update(|model| {
            let squared = |v| crate::snap::grid(v);
            model.cross = floorplan::Point::new(squared(middle.x), squared(middle.y));
        });
    }

    /// Closer or farther about the middle.
    pub(crate) fn zoom(self, factor: f64) {
        let [w, h] = self.window.get_untracked();
        self.sight.update(|sight| *sight = sight.zoomed(factor, w / 2.0, h / 2.0));
    }

    /// Asks the page how large the board is.
    pub(crate) fn measure_window(self) {
        let Some(board) = document().get_element_by_id("board") else { return };
        let rect = board.get_bounding_client_rect();
        if rect.width() > 10.0 && rect.height() > 10.0 {
            self.window.set([rect.width(), rect.height()]);
        }
    }

    /// A file becomes the picture of the level that is shown.
    pub(crate) fn picture(self, file: JsValue) {
        spawn_local(async move {
            let read = bridge::picture(&self.site.get_value(), file).await;
            self.picture_fault.set(!read.is_truthy());
            let Ok(read) = read.dyn_into::<js_sys::Array>() else { return };
            let number = |i| read.get(i).as_f64().unwrap_or(1.0) as u32;
            let (Some(key), Some(address)) = (read.get(0).as_string(), read.get(3).as_string())
            else {
                return;
            };
            self.addresses.update(|known| {
                known.insert(key.clone(), address);
            });
            self.edit(Edit::Picture(key, [number(1), number(2)]));
            self.show_all();
            self.happen(Event::Take(crate::Tool::Measure));
        });
    }

    fn look_up_pictures(self) {
        let keys: Vec<String> = self.model.with_untracked(|model| {
            model.drawing.pictures.values().map(|under| under.key.clone()).collect()
        });
        for key in keys {
            spawn_local(async move {
                if let Some(address) = bridge::address(&key).await.as_string() {
                    self.addresses.update(|known| {
                        known.insert(key, address);
                    });
                }
            });
        }
    }

    /// Sends the plan through the same door as a file. With something to put right it asks first.
    pub(crate) fn save(self) {
        let plan = self.model.with_untracked(|model| model.drawing.plan.clone());
        if !plan.check().is_empty() && !self.warned.get_untracked() {
            self.warned.set(true);
            return;
        }
        let text = String::from_utf8(plan.canonical()).unwrap_or_default();
        let field = element("drawn").unchecked_into::<web_sys::HtmlTextAreaElement>();
        field.set_value(&text);
        let form = element("save-form").unchecked_into::<web_sys::HtmlFormElement>();
        // The only refusal is a form that is no part of the page.
        let _ = form.submit();
    }

    /// Whether the site has exactly this plan.
    pub(crate) fn is_saved(self) -> bool {
        self.version.track();
        self.model.with_untracked(|model| {
            self.saved.with_value(|saved| saved.as_ref() == Some(&model.drawing.plan))
        })
    }
}

pub(crate) fn document() -> web_sys::Document {
    let window = web_sys::window().expect("a page has a window");
    window.document().expect("a window has a document")
}

/// An element that the page has.
pub(crate) fn element(id: &str) -> web_sys::Element {
    document().get_element_by_id(id).expect("the page has it")
}
