//! What is on the desk while one draws, and what can happen.

use crate::drawing::{Drawing, Part};
use crate::fields::Edit;
use floorplan::{EquipmentKind, Leaf, LevelId, LinkKind, MarkKind, Point, RoomKind, ZoneId};
use words::Lang;

/// One step of the squared paper and of the arrow keys, in millimetres.
pub const GRID_MM: i64 = 100;
/// How near the pointer must come to something, in pixels of the screen.
pub const REACH_PX: f64 = 11.0;
/// Steps that can be taken back.
pub const UNDO_MAX: usize = 300;

/// What the next press does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tool {
    /// Chooses, and moves what was chosen.
    Choose,
    /// Sets corners of a room, or draws a rectangle.
    Room(RoomKind),
    /// Puts a door into the nearest wall.
    Door(Leaf),
    /// Puts a stair, ramp or lift.
    Link(LinkKind),
    /// Puts a stop.
    Stop,
    /// Puts equipment or a hazard.
    Thing(EquipmentKind),
    /// Puts a mark.
    Mark(MarkKind),
    /// Sets the two points whose distance is known.
    Measure,
    /// Moves the picture.
    Shift,
}

/// What a change or a press led to, for the line that is read aloud.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// A corner was set; so many are there.
    Corner(usize),
    /// A room was closed.
    Closed(String),
    /// The corners enclose nothing, or the border crosses itself.
    NoRoom,
    /// No wall is near enough for a door.
    NoWall,
    /// Something was put.
    Put(String),
    /// Something was chosen.
    Chosen(String),
    /// Something was moved here.
    Moved(Point),
    /// Something was taken away.
    Removed(String),
    /// One step back; so many are left.
    Undone(usize),
    /// One step forward again.
    Redone,
    /// Nothing to take back or to do again.
    NoStep,
    /// The first of two points is set.
    MeasureFirst,
    /// Both are set: the distance is asked.
    MeasureSecond,
    /// The two points are too near to each other to measure by.
    MeasureNear,
    /// The scale is set; `true` when what was drawn went along with the picture.
    Scaled(bool),
    /// So many stops were put.
    Stops(usize),
    /// The only zone or level stays.
    LastOne,
    /// A level was added or copied.
    Level(String),
    /// The cross stands here.
    Cross(Point),
}

/// A press that is not over.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Press {
    pub(crate) from: Point,
    pub(crate) last: Point,
    pub(crate) reach_mm: i64,
    /// It has gone far enough to be a drag.
    pub(crate) drags: bool,
    /// Nothing that was chosen before lies under it: a drag moves the paper.
    pub(crate) pans: bool,
}

/// The drawing and everything around it.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// What is drawn.
    pub drawing: Drawing,
    /// The level that is shown.
    pub level: LevelId,
    /// What the next press does.
    pub tool: Tool,
    /// What is chosen.
    pub chosen: Option<Part>,
    /// Corners of the room that is not closed yet.
    pub ring: Vec<Point>,
    /// Where the next corner would be, or the cross of the keyboard.
    pub cross: Point,
    /// The cross is moved by keys and therefore shown.
    pub by_keys: bool,
    /// Points set to measure by.
    pub measure: Vec<Point>,
    /// The zone that new rooms belong to; the level's own when none.
    pub zone: Option<ZoneId>,
    /// What happened last.
    pub said: Option<Said>,
    /// Grows with every change of the drawing or of what is shown of it.
    pub version: u64,
    /// The language of names that are given here.
    pub lang: Lang,
    pub(crate) press: Option<Press>,
    pub(crate) undo: Vec<Drawing>,
    pub(crate) redo: Vec<Drawing>,
    /// What the last step moved: moving it on is the same step.
    pub(crate) moved: Option<Part>,
}

/// Something happens.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// A tool is taken.
    Take(Tool),
    /// The pointer goes down; so many millimetres are one pixel of the screen.
    Down(Point, f64),
    /// The pointer moves, pressed or not.
    Move(Point, f64),
    /// The pointer comes up.
    Up(Point, f64),
    /// An arrow key: so many steps to the right and up.
    Step(i64, i64),
    /// The keyboard's press at the cross.
    Enter,
    /// Away with what is unfinished, chosen, or the tool, in this order.
    Escape,
    /// Away with what is chosen, or with the last corner.
    Delete,
    /// One step back.
    Undo,
    /// One step forward again.
    Redo,
    /// Something is chosen by its name in the list.
    Choose(Option<Part>),
    /// Another level is shown.
    Show(LevelId),
    /// A field was changed.
    Edit(Edit),
}

impl Model {
    /// Begins with a drawing; shows its lowest level at or above zero.
    pub fn new(drawing: Drawing, lang: Lang) -> Model {
        let levels = &drawing.plan.levels;
        let shown = levels.iter().find(|level| level.elevation_mm >= 0).or(levels.last());
        let level = shown.map_or_else(|| LevelId::from_name("0"), |level| level.id.clone());
        Model {
            drawing,
            level,
            tool: Tool::Choose,
            chosen: None,
            ring: Vec::new(),
            cross: Point::new(0, 0),
            by_keys: false,
            measure: Vec::new(),
            zone: None,
            said: None,
            version: 0,
            lang,
            press: None,
            undo: Vec::new(),
            redo: Vec::new(),
            moved: None,
        }
    }

    /// Steps that can be taken back.
    pub fn undo_left(&self) -> usize {
        self.undo.len()
    }

    /// The pointer drags the paper.
    pub fn pans(&self) -> bool {
        self.press.as_ref().is_some_and(|press| press.pans && press.drags)
    }

    /// Whether a move of the pointer changes anything that is shown.
    pub fn follows(&self) -> bool {
        self.press.is_some() || !self.ring.is_empty() || self.measure.len() == 1
    }

    /// Whether a step can be done again.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// Changes the drawing as one step that can be taken back; nothing changed is no step.
    pub(crate) fn change<T>(&mut self, change: impl FnOnce(&mut Drawing) -> T) -> T {
        self.moved = None;
        let before = self.drawing.clone();
        let out = change(&mut self.drawing);
        self.keep_step(before);
        out
    }

    pub(crate) fn keep_step(&mut self, before: Drawing) {
        if before == self.drawing {
            return;
        }
        self.version += 1;
        self.undo.push(before);
        if self.undo.len() > UNDO_MAX {
            self.undo.remove(0);
        }
        self.redo.clear();
    }

    /// The zone that a new room on this level belongs to.
    pub fn zone_now(&self) -> Option<ZoneId> {
        let wanted = self.zone.clone().filter(|id| self.drawing.plan.zone(id).is_some());
        wanted.or_else(|| self.drawing.zone_of_level(&self.level))
    }
}
