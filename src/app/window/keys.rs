//! The keys: Tab goes through every control as it is read, arrows move in lists, choices and pages, and where a control
//! goes away that had the keys, another near it has them.
//!
//! The toolkit's own walk knows nothing of rows that are not drawn yet, and drops the keys with what is gone or scrolled out
//! of sight (Slint 1.18.1): with them would go the phone's Back. So the walk is made here, on its tree.

use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::time::Duration;

use i_slint_core::item_tree::{ItemRc, ItemWeak};
use i_slint_core::items::{AccessibleRole, Flickable, FocusReason, TextInput};
use i_slint_core::lengths::LogicalLength;
use i_slint_core::properties::ChangeTracker;
use i_slint_core::window::WindowInner;
use slint::platform::Key;
use slint::{ComponentHandle, SharedString};

use crate::app::action::Action;
use crate::app::explained::{ExplainAction, Term};
use crate::app::ui;

use super::app::App;
use super::stops::{self, Place, Stop};

/// An arrow key scrolls a page so far, in dp.
const LINE_DP: f32 = 48.0;
/// A page key scrolls this share of what is seen.
const PAGE: f32 = 0.9;

/// Home and End scroll a list by so much at a time, in dp: how long it is, is an estimate until its rows are there, and the
/// toolkit gives up on settling it where very many come at once.
const STRIDE_DP: f32 = 2000.0;
/// How often a list is asked for more at most.
const MOST_TRIES: usize = 1000;

/// What the keys were at, for when it goes away.
#[derive(Default)]
pub(super) struct Keys {
    /// The row last left in each list.
    rows: RefCell<Vec<(ItemWeak, ItemWeak)>>,
    /// What had the keys when a screen was left.
    left: RefCell<Vec<(ui::Screen, String)>>,
    /// Sees that what has the keys stays in sight.
    watch: ChangeTracker,
    /// A key is being handled.
    pub(super) is_handled: Cell<bool>,
}

/// The control that had the keys, and the screen it stood on.
pub(super) struct HadKeys {
    role: AccessibleRole,
    label: String,
    place: Place,
    screen: ui::Screen,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Up,
    Down,
    Left,
    Right,
    First,
    Last,
    PageUp,
    PageDown,
}

impl Step {
    fn of(key: &str) -> Option<Self> {
        let keys = [
            (Key::UpArrow, Self::Up),
            (Key::DownArrow, Self::Down),
            (Key::LeftArrow, Self::Left),
            (Key::RightArrow, Self::Right),
            (Key::Home, Self::First),
            (Key::End, Self::Last),
            (Key::PageUp, Self::PageUp),
            (Key::PageDown, Self::PageDown),
        ];
        keys.into_iter().find(|(of, _)| SharedString::from(*of) == key).map(|(_, step)| step)
    }

    const fn leads_back(self) -> bool {
        matches!(self, Self::Up | Self::Left | Self::First | Self::PageUp)
    }
}

impl App {
    pub(super) fn attach_keys(self: &Rc<Self>) {
        let to = self.window().global::<ui::AppState<'_>>();
        let app = Rc::downgrade(self);
        to.on_tab_key(move |back| {
            if let Some(app) = app.upgrade() {
                app.tab(back);
            }
        });
        let app = Rc::downgrade(self);
        to.on_move_key(move |key| app.upgrade().is_some_and(|app| app.move_by(&key)));
        let app = Rc::downgrade(self);
        to.on_field_entered(move || {
            if let Some(app) = app.upgrade() {
                app.watch();
            }
        });
    }

    fn tree(&self) -> &WindowInner {
        WindowInner::from_pub(self.window().window())
    }

    /// Returns the control that has the keys now.
    fn current(&self) -> Option<Stop> {
        let focus = self.tree().focus_item.borrow().upgrade();
        focus.as_ref().and_then(stops::stop)
    }

    /// Whether a field has the keys.
    fn is_typing(&self) -> bool {
        let focus = self.tree().focus_item.borrow().upgrade();
        focus.is_some_and(|focus| focus.downcast::<TextInput>().is_some())
    }

    /// Gives the keys to a control; it is scrolled into sight.
    fn give_keys(&self, stop: &Stop) {
        let tree = self.tree();
        // What had them may be scrolled out of sight by this.
        self.keys.watch.clear();
        tree.set_focus_item(&stop.focus, true, FocusReason::Programmatic);
        tree.ensure_tree_instantiated();
        self.reveal(&stop.focus);
        if let Some((list, row)) = &stop.row {
            let mut rows = self.keys.rows.borrow_mut();
            rows.retain(|(of, _)| of.upgrade().is_some_and(|of| of != *list));
            rows.push((list.downgrade(), row.downgrade()));
        }
        self.uncover();
        self.watch();
    }

    /// The toolkit scrolls what is nearest around a control, by a list's length as it is known before its rows are there; and
    /// a field that scrolls its own text stands in a page besides.
    fn reveal(&self, focus: &ItemRc) {
        let around = stops::ancestors(focus);
        let is_scroll = |item: &&ItemRc| item.downcast::<Flickable>().is_some();
        let own = Some(focus).filter(|focus| focus.downcast::<TextInput>().is_none());
        let nested: Vec<&ItemRc> = own.into_iter().chain(around.iter().filter(is_scroll)).collect();
        for pair in nested.windows(2) {
            let (inner, page) = (Place::of(pair[0]), Place::of(pair[1]));
            if inner.top < page.top - 1.0 || inner.height() > page.height() {
                self.scroll_by(pair[1], inner.top - page.top);
            } else if inner.bottom > page.bottom + 1.0 {
                self.scroll_by(pair[1], inner.bottom - page.bottom);
            }
        }
    }

    /// On to the next control that Tab stops at, or back: all of a page, and of a list the row that was there last.
    fn tab(&self, back: bool) {
        let stops = stops::read(self.tree());
        let now = self.current();
        let rows: Vec<(ItemRc, ItemRc)> = self.rows_to_stop_at(&stops, now.as_ref());
        let is_stop = |stop: &&Stop| {
            let is_now = now.as_ref().is_some_and(|now| now.focus == stop.focus);
            let in_row = stop.row.as_ref().is_none_or(|(_, row)| rows.iter().any(|(_, of)| of == row));
            is_now || (stop.can_be_used && in_row)
        };
        let order: Vec<&Stop> = stops.iter().filter(is_stop).collect();
        let at = now.and_then(|now| order.iter().position(|stop| stop.focus == now.focus));
        let next = match (at, back) {
            (None, false) => 0,
            (None, true) => order.len().saturating_sub(1),
            (Some(at), false) => (at + 1) % order.len(),
            (Some(at), true) => (at + order.len() - 1) % order.len(),
        };
        if let Some(stop) = order.get(next) {
            self.give_keys(stop);
        }
    }

    /// Returns of each list the row that Tab stops at: the one that has the keys, else the one left last where it is in
    /// sight, else the first in sight.
    fn rows_to_stop_at(&self, stops: &[Stop], now: Option<&Stop>) -> Vec<(ItemRc, ItemRc)> {
        let left = self.keys.rows.borrow();
        let mut rows: Vec<(ItemRc, ItemRc)> = Vec::new();
        for (list, first) in stops.iter().filter(|stop| stop.can_be_used).filter_map(|stop| stop.row.as_ref()) {
            if rows.iter().any(|(of, _)| of == list) {
                continue;
            }
            let of_list = |row: &&(ItemRc, ItemRc)| row.0 == *list;
            let in_now = now.and_then(|now| now.row.as_ref()).filter(of_list).map(|(_, row)| row.clone());
            let seen = Place::of(list);
            let is_seen = |row: &ItemRc| {
                stops.iter().any(|stop| {
                    stop.row.as_ref().is_some_and(|(_, of)| of == row)
                        && (stop.place.stands_in(seen) || stop.place.height() > seen.height())
                })
            };
            let before = left.iter().find(|(of, _)| of.upgrade().is_some_and(|of| of == *list));
            let before = before.and_then(|(_, row)| row.upgrade()).filter(is_seen);
            let in_sight = || stops.iter().filter_map(|stop| stop.row.as_ref()).filter(of_list).map(|(_, row)| row);
            let row = in_now.or(before).or_else(|| in_sight().find(|row| is_seen(row)).cloned());
            rows.push((list.clone(), row.unwrap_or_else(|| first.clone())));
        }
        rows
    }

    /// Moves in the list, the choices or the page. Returns whether anything could be moved.
    fn move_by(&self, key: &str) -> bool {
        let Some(step) = Step::of(key) else { return false };
        let Some(now) = self.current() else { return self.scroll(step, None) };
        if now.row.is_some() {
            if let Some(next) = self.in_list(&now, step) {
                self.give_keys(&next);
            }
            return true;
        }
        let next = in_group(&stops::read(self.tree()), &now, step);
        if let Some(next) = next {
            self.give_keys(&next);
            return true;
        }
        self.scroll(step, Some(&now))
    }

    /// Returns where a key leads in a list, which is scrolled as far as that takes.
    fn in_list(&self, now: &Stop, step: Step) -> Option<Stop> {
        let (list, row) = now.row.as_ref()?;
        let in_row = self.row(list, row);
        let column = in_row.iter().position(|stop| stop.focus == now.focus)?;
        let last = |mut row: Vec<Stop>| row.pop();
        match step {
            Step::Right if column + 1 < in_row.len() => in_row.into_iter().nth(column + 1),
            Step::Left if column > 0 => in_row.into_iter().nth(column - 1),
            Step::Right => self.row_beside(list, row, 1)?.into_iter().next(),
            Step::Left => last(self.row_beside(list, row, -1)?),
            Step::Up | Step::Down => {
                let row = self.row_beside(list, row, if step == Step::Up { -1 } else { 1 })?;
                let column = column.min(row.len().checked_sub(1)?);
                row.into_iter().nth(column)
            }
            Step::First => {
                let _ = (0..MOST_TRIES).all(|_| self.scroll_by(list, -STRIDE_DP));
                self.rows(list).into_iter().next()?.into_iter().next()
            }
            Step::Last => {
                let _ = (0..MOST_TRIES).all(|_| self.scroll_by(list, STRIDE_DP));
                self.rows(list).pop()?.into_iter().next()
            }
            Step::PageUp | Step::PageDown => {
                let seen = Place::of(list);
                let by = (seen.height() - now.place.height()).max(LINE_DP);
                let is_up = step == Step::PageUp;
                self.scroll_by(list, if is_up { -by } else { by });
                let mut rows = self.rows(list);
                rows.retain(|row| row.iter().any(|stop| stop.place.stands_in(seen)));
                let row = if is_up { rows.into_iter().next()? } else { rows.pop()? };
                row.into_iter().next()
            }
        }
    }

    /// Returns the rows of a list that are there, with what can be used in each.
    fn rows(&self, list: &ItemRc) -> Vec<Vec<Stop>> {
        let mut rows: Vec<(ItemRc, Vec<Stop>)> = Vec::new();
        for stop in stops::read(self.tree()).into_iter().filter(|stop| stop.can_be_used) {
            let Some((of, row)) = stop.row.clone() else { continue };
            if of != *list {
                continue;
            }
            match rows.iter_mut().find(|(one, _)| *one == row) {
                Some((_, stops)) => stops.push(stop),
                None => rows.push((row, vec![stop])),
            }
        }
        rows.into_iter().map(|(_, row)| row).collect()
    }

    fn row(&self, list: &ItemRc, row: &ItemRc) -> Vec<Stop> {
        let is_it = |stops: &Vec<Stop>| stops.iter().any(|stop| stop.row.as_ref().is_some_and(|(_, of)| of == row));
        self.rows(list).into_iter().find(is_it).unwrap_or_default()
    }

    /// Returns the row after or before another. One that is not there yet comes with scrolling.
    fn row_beside(&self, list: &ItemRc, row: &ItemRc, by: isize) -> Option<Vec<Stop>> {
        let is_it = |stops: &Vec<Stop>| stops.iter().any(|stop| stop.row.as_ref().is_some_and(|(_, of)| of == row));
        for _ in 0..MOST_TRIES {
            let mut rows = self.rows(list);
            let at = rows.iter().position(is_it)?;
            if let Some(beside) = at.checked_add_signed(by).filter(|beside| *beside < rows.len()) {
                return Some(rows.swap_remove(beside));
            }
            // No further than that the row that has the keys stays.
            if !self.scroll_by(list, if by < 0 { -LINE_DP } else { LINE_DP }) {
                return None;
            }
        }
        None
    }

    /// Scrolls, down where `by` is above 0. Returns whether there was anything to scroll to; a list sets itself right again
    /// as its rows come into being, so where it then is does not tell.
    fn scroll_by(&self, scroll: &ItemRc, by: f32) -> bool {
        let Some(flick) = scroll.downcast::<Flickable>() else { return false };
        let flick = flick.as_pin_ref();
        let before = flick.content_y().get();
        let least = (scroll.geometry().height() - flick.content_height().get()).min(0.0);
        let wanted = (before - by).clamp(least, 0.0);
        Flickable::FIELD_OFFSETS.content_y().apply_pin(flick).set(LogicalLength::new(wanted));
        self.tree().ensure_tree_instantiated();
        (wanted - before).abs() > 0.5
    }

    /// Scrolls the page that the control with the keys stands on, or the largest there is.
    fn scroll(&self, step: Step, now: Option<&Stop>) -> bool {
        let around = now.map(|now| stops::ancestors(&now.focus)).unwrap_or_default();
        let around = around.into_iter().find(stops::is_longer);
        let largest = || {
            let area = |item: &ItemRc| item.geometry().area();
            stops::scrolls(self.tree()).into_iter().max_by(|one, other| area(one).total_cmp(&area(other)))
        };
        let Some(page) = around.or_else(largest) else { return false };
        let seen = Place::of(&page);
        let by = match step {
            Step::Up | Step::Left => -LINE_DP,
            Step::Down | Step::Right => LINE_DP,
            Step::PageUp => -PAGE * seen.height(),
            Step::PageDown => PAGE * seen.height(),
            Step::First => -f32::MAX,
            Step::Last => f32::MAX,
        };
        if matches!(step, Step::Left | Step::Right) || !self.scroll_by(&page, by) {
            return false;
        }
        // The toolkit takes the keys from what is out of sight.
        if let Some(now) = now.filter(|now| !now.focus.is_visible()) {
            let is_near = |stop: &&Stop| {
                stop.can_be_used && stop.scroll == now.scroll && stop.place.stands_in(seen) && stop.place.meets(seen)
            };
            let stops = stops::read(self.tree());
            let mut near = stops.iter().filter(is_near);
            match if step.leads_back() { near.next_back() } else { near.next() } {
                Some(stop) => self.give_keys(stop),
                None => self.window().invoke_take_keys(),
            }
        }
        true
    }

    /// Explains a word, clear of where it stands: so far from the window's top.
    pub(super) fn explain(self: &Rc<Self>, term: Term, from_top: f32) {
        let window = self.window().window();
        let middle = window.size().to_logical(window.scale_factor()).height / 2.0;
        self.window().global::<ui::ExplainedState<'_>>().set_low(from_top < middle);
        self.act_soon(Action::Explain(ExplainAction::Tap(term)));
    }

    /// What lies over the page, the message and what a word means, gives way to what it would cover.
    fn uncover(&self) {
        let state = self.window().global::<ui::AppState<'_>>();
        let explained = self.window().global::<ui::ExplainedState<'_>>();
        let has_message = state.get_message().id != ui::MessageId::None;
        let has_card = explained.get_open() != ui::Term::None;
        if !has_message {
            state.set_message_low(false);
        }
        if !has_message && !has_card {
            return;
        }
        let Some(now) = self.current().filter(|now| !now.is_told) else { return };
        // The card is drawn before the message.
        for (at, place) in stops::over_the_page(self.tree()).into_iter().enumerate() {
            match (now.place.meets(place), has_card && at == 0) {
                (false, _) => {}
                (true, true) => explained.set_low(!explained.get_low()),
                (true, false) => state.set_message_low(!state.get_message_low()),
            }
        }
    }

    /// Where what has the keys is scrolled out of sight, or its row is gone, the window has them: Back is heard.
    fn watch(&self) {
        let focus = self.tree().focus_item.borrow().clone();
        let scroll = self.current().and_then(|now| now.scroll).map(|scroll| scroll.downgrade()).unwrap_or_default();
        self.keys.watch.init(
            (focus, scroll, self.window().as_weak()),
            |(focus, scroll, _)| {
                let scroll = scroll.upgrade().and_then(|scroll| scroll.downcast::<Flickable>());
                let _ = scroll.map(|flick| flick.as_pin_ref().content_y());
                focus.upgrade().is_some_and(|focus| focus.is_visible())
            },
            |(_, _, window), is_seen| {
                if let Some(window) = window.upgrade().filter(|_| !is_seen) {
                    window.invoke_take_keys();
                }
            },
        );
    }

    /// Returns what has the keys, before the screen is filled anew.
    pub(super) fn had_keys(&self) -> Option<HadKeys> {
        let screen = self.window().global::<ui::AppState<'_>>().get_screen();
        // Where a field stands matters to nobody, and what is in it now may be too much to be laid out: it is taken out first.
        if self.is_typing() {
            let place = Place { left: 0.0, top: 0.0, right: 0.0, bottom: 0.0 };
            return Some(HadKeys { role: AccessibleRole::TextInput, label: String::new(), place, screen });
        }
        let now = self.current()?;
        let explained = self.window().global::<ui::ExplainedState<'_>>().get_open();
        if now.is_told && explained != ui::Term::None {
            // The card goes by its own cross: the word it tells of has the keys again.
            let question = self.window().global::<ui::Terms<'_>>().invoke_question(explained);
            let asks = |stop: &Stop| !stop.is_told && stop.label.ends_with(question.as_str());
            if let Some(word) = stops::read(self.tree()).into_iter().find(asks) {
                return Some(HadKeys { role: word.role, label: word.label, place: word.place, screen });
            }
        }
        // Nothing of the tree is held on to: what is gone would seem to be there.
        Some(HadKeys { role: now.role, label: now.label, place: now.place, screen })
    }

    /// Gives the keys on, once the screen is filled, where what had them is gone.
    pub(super) fn give_keys_on(&self, had: Option<HadKeys>) {
        let is_plain = self.window().global::<ui::AppState<'_>>().get_message().id == ui::MessageId::None
            && self.window().global::<ui::ExplainedState<'_>>().get_open() == ui::Term::None;
        if had.is_none() && is_plain {
            return;
        }
        // What is torn down while a key is being handled ends the toolkit.
        if !self.keys.is_handled.get() {
            self.find_keys(had.as_ref());
            return;
        }
        let app = self.me();
        slint::Timer::single_shot(Duration::ZERO, move || {
            if let Some(app) = app.upgrade() {
                app.find_keys(had.as_ref());
            }
        });
    }

    fn find_keys(&self, had: Option<&HadKeys>) {
        let tree = self.tree();
        tree.ensure_tree_instantiated();
        if had.is_some_and(|had| had.role == AccessibleRole::TextInput) && self.is_typing() {
            self.uncover();
            return;
        }
        let stops = stops::read(tree);
        let now = self.current().filter(|now| now.can_be_used && now.focus.is_visible());
        // What a key is being handled in seems to be there until that is done: only the tree tells.
        let is_there = now.is_some_and(|now| stops.iter().any(|stop| stop.focus == now.focus));
        let screen = self.window().global::<ui::AppState<'_>>().get_screen();
        // The strip and the bar stand on every screen: they keep the keys, but not on the way back.
        let leads_back = |had: &&HadKeys| {
            let is_left = self.keys.left.borrow().iter().any(|(of, _)| *of == screen);
            had.screen != screen && had.role != AccessibleRole::Tab && is_left
        };
        let Some(had) = had.filter(|had| !is_there || leads_back(had)) else {
            self.uncover();
            return;
        };
        let is_same = screen == had.screen;
        let old = had;
        // A field that is done with was meant to be left: it would bring a phone's keyboard back.
        if old.role == AccessibleRole::TextInput {
            self.window().invoke_take_keys();
            return;
        }
        let there = || stops.iter().filter(|stop| stop.can_be_used && stop.focus.is_visible());
        let far = |stop: &Stop| {
            let ((x, y), (to_x, to_y)) = (old.place.middle(), stop.place.middle());
            (x - to_x).hypot(2.0 * (y - to_y))
        };
        let nearest = |one: &&Stop, other: &&Stop| far(one).total_cmp(&far(other));
        let next = if is_same {
            let alike = there().filter(|stop| stop.role == old.role && stop.label == old.label).min_by(nearest);
            alike.or_else(|| there().filter(|stop| !stop.is_told).min_by(nearest))
        } else {
            // On the way back where it came from, else at the head of the screen.
            let mut left = self.keys.left.borrow_mut();
            let back = left.iter().position(|(of, _)| *of == screen).map(|at| left.remove(at).1);
            if back.is_none() {
                left.retain(|(of, _)| *of != had.screen);
                left.push((had.screen, old.label.clone()));
            }
            back.and_then(|label| there().find(|stop| stop.label == label))
                .or_else(|| there().find(|stop| !stop.is_told))
        };
        match next {
            Some(stop) => self.give_keys(stop),
            None => self.window().invoke_take_keys(),
        }
    }
}

/// Returns where an arrow leads among choices.
fn in_group(stops: &[Stop], now: &Stop, step: Step) -> Option<Stop> {
    let is_among = |stop: &&Stop| match &now.group {
        Some(group) => stop.group.as_ref() == Some(group),
        None => {
            now.role == AccessibleRole::RadioButton
                && stop.role == now.role
                && stop.scroll == now.scroll
                && stop.group.is_none()
        }
    };
    let group: Vec<&Stop> = stops.iter().filter(|stop| stop.can_be_used).filter(is_among).collect();
    let at = group.iter().position(|stop| stop.focus == now.focus)?;
    let (x, y) = now.place.middle();
    // Straight above or below, where the choices stand in several rows.
    let beside = |is_on_side: &dyn Fn(&Place) -> bool| {
        let far = |stop: &&&Stop| {
            let (to_x, to_y) = stop.place.middle();
            (to_x - x).abs() + 4.0 * (to_y - y).abs()
        };
        let found = group.iter().filter(|stop| is_on_side(&stop.place));
        found.min_by(|one, other| far(one).total_cmp(&far(other))).copied()
    };
    let found = match step {
        Step::Right => group.get(at + 1).copied(),
        Step::Left => at.checked_sub(1).and_then(|before| group.get(before)).copied(),
        Step::Down => beside(&|place| place.top >= now.place.bottom - 1.0),
        Step::Up => beside(&|place| place.bottom <= now.place.top + 1.0),
        Step::First => group.first().copied(),
        Step::Last => group.last().copied(),
        Step::PageUp | Step::PageDown => None,
    };
    found.cloned()
}
