//! What stands in the window, read from Slint's own tree: every text and every control, with its place.
//!
//! The testing crate's handles give an element's size but not the size it would like to have, so the items themselves
//! are asked (`i-slint-core`, pinned to the version in use): a text's size comes from the renderer that would draw it.

use std::ops::ControlFlow;

use i_slint_backend_testing::AccessibleRole;
use i_slint_core::accessibility::{AccessibleStringProperty, SupportedAccessibilityAction};
use i_slint_core::item_tree::{ItemRc, ParentItemTraversalMode};
use i_slint_core::items::{
    Clip, ComplexText, Flickable, Orientation, SimpleText, TextHorizontalAlignment, TextInput, TextOverflow,
    TextVerticalAlignment, TextWrap,
};
use i_slint_core::window::WindowInner;
use pegwise::app::App;
use slint::ComponentHandle;

use crate::bench_window::ROLES;

/// A place in the window, in dp.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Place {
    pub(crate) left: f32,
    pub(crate) top: f32,
    pub(crate) right: f32,
    pub(crate) bottom: f32,
}

impl Place {
    pub(crate) fn of(item: &ItemRc) -> Self {
        let geometry = item.geometry();
        let origin = item.map_to_window(geometry.origin);
        Self::new(origin.x, origin.y, geometry.size.width, geometry.size.height)
    }

    const fn new(left: f32, top: f32, width: f32, height: f32) -> Self {
        Self { left, top, right: left + width, bottom: top + height }
    }

    pub(crate) const fn width(self) -> f32 {
        self.right - self.left
    }

    pub(crate) const fn height(self) -> f32 {
        self.bottom - self.top
    }

    /// Whether both share more than an edge.
    pub(crate) fn meets(self, other: Self) -> bool {
        let across = self.right.min(other.right) - self.left.max(other.left);
        let down = self.bottom.min(other.bottom) - self.top.max(other.top);
        across > 1.0 && down > 1.0
    }

    /// Whether `other` lies in it, but for a pixel of rounding.
    pub(crate) fn holds(self, other: Self) -> bool {
        self.left <= other.left + 1.0
            && self.top <= other.top + 1.0
            && self.right >= other.right - 1.0
            && self.bottom >= other.bottom - 1.0
    }

    fn cut_to(self, other: Self) -> Self {
        Self {
            left: self.left.max(other.left),
            top: self.top.max(other.top),
            right: self.right.min(other.right),
            bottom: self.bottom.min(other.bottom),
        }
    }
}

/// A text as it is set.
#[derive(Clone, Debug)]
pub(crate) struct Words {
    pub(crate) text: String,
    /// Where the letters are, which may be less or more than the element's place.
    pub(crate) ink: Place,
    /// The width it needs: its longest word where it wraps, else all of it.
    pub(crate) needs_width: f32,
    /// The height it needs at the width it has.
    pub(crate) needs_height: f32,
    /// Red, green and blue of the letters.
    pub(crate) color: [u8; 3],
    /// It ends in an ellipsis where it does not fit.
    pub(crate) elides: bool,
}

/// A control as a screen reader meets it.
#[derive(Clone, Debug)]
pub(crate) struct Control {
    pub(crate) label: String,
    pub(crate) role: AccessibleRole,
    /// What stands in an empty field.
    pub(crate) hint: Option<String>,
    pub(crate) can_be_used: bool,
    /// For what is on or off: whether it says which.
    pub(crate) says_its_state: bool,
    /// It does something now.
    pub(crate) enabled: bool,
}

/// One thing on the screen.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) item: ItemRc,
    /// It is part of the message that lies over the page.
    pub(crate) is_told: bool,
    /// What is scrolled of the list it stands in.
    pub(crate) list: Option<ItemRc>,
    /// The component it is: "Chip", "Text".
    pub(crate) kind: String,
    /// Where it is, scrolled away or not.
    pub(crate) place: Place,
    /// What can be seen of it.
    pub(crate) seen: Place,
    /// The scrolled area it is in, and its place.
    pub(crate) scroll: Option<(ItemRc, Place)>,
    /// Where it must lie: the nearest window, clip or scrolled content.
    pub(crate) room: Place,
    /// The controls it is a part of, by their order.
    pub(crate) within: Vec<usize>,
    pub(crate) words: Option<Words>,
    pub(crate) control: Option<Control>,
    /// It is told to a screen reader, as text, picture or control.
    pub(crate) spoken: Option<String>,
}

impl Piece {
    pub(crate) fn shares_scroll(&self, other: &Self) -> bool {
        self.scroll.as_ref().map(|(item, _)| item) == other.scroll.as_ref().map(|(item, _)| item)
    }

    /// What lies under the message is not to be seen now.
    fn lie_under(&mut self, told: Place) {
        if self.is_told || !self.seen.meets(told) {
            return;
        }
        if told.top <= 1.0 {
            self.seen.top = self.seen.top.max(told.bottom);
        } else {
            self.seen.bottom = self.seen.bottom.min(told.top);
        }
    }

    /// What it is called in a report.
    pub(crate) fn name(&self) -> String {
        let words = self.words.as_ref().map(|words| words.text.clone());
        let label = self.control.as_ref().map(|control| control.label.clone());
        format!("{} \"{}\"", self.kind, words.or(label).or_else(|| self.spoken.clone()).unwrap_or_default())
    }
}

/// The roles that only hold others.
const HOLDERS: [AccessibleRole; 4] =
    [AccessibleRole::None, AccessibleRole::Groupbox, AccessibleRole::TabList, AccessibleRole::List];

/// Everything in the window that is read or tapped, in the order a screen reader goes.
pub(crate) fn pieces(app: &App) -> Vec<Piece> {
    let mut found: Vec<Piece> = Vec::new();
    let mut controls: Vec<(usize, ItemRc)> = Vec::new();
    let _: Option<()> = root(app).visit_descendants(|item| {
        let ancestors = ancestors(item);
        if !ancestors.iter().chain([item]).any(is_hidden)
            && let Some(mut piece) = piece(item, &ancestors)
        {
            piece.within =
                controls.iter().filter(|(_, control)| ancestors.contains(control)).map(|(index, _)| *index).collect();
            if piece.control.is_some() {
                controls.push((found.len(), item.clone()));
            }
            found.push(piece);
        }
        ControlFlow::Continue(())
    });
    for told in over_the_page(app) {
        found.iter_mut().for_each(|piece| piece.lie_under(told));
    }
    found
}

/// Where what is told over the page lies: what a word means, the message.
fn over_the_page(app: &App) -> Vec<Place> {
    let mut found = Vec::new();
    let _: Option<()> = root(app).visit_descendants(|item| {
        if item.is_accessible() && item.accessible_role() == AccessibleRole::ContentInfo {
            found.push(Place::of(item));
        }
        ControlFlow::Continue(())
    });
    found
}

/// Where the message lies, if one is told.
pub(crate) fn message(app: &App) -> Option<Place> {
    over_the_page(app).pop()
}

/// The control that has the keys; none where only the window has them.
pub(crate) fn with_the_keys(app: &App) -> Option<Piece> {
    let focus = WindowInner::from_pub(app.window().window()).focus_item.borrow().upgrade()?;
    let around = ancestors(&focus);
    let item = std::iter::once(&focus).chain(&around).find(|item| control(item).is_some())?;
    let around = ancestors(item);
    if around.iter().chain([item]).any(is_hidden) || around.last() != Some(&root(app)) {
        return None;
    }
    let mut piece = piece(item, &around)?;
    over_the_page(app).into_iter().for_each(|told| piece.lie_under(told));
    Some(piece)
}

/// Scrolls what is scrolled to so far from its top, in dp. Returns whether it is not at its end yet.
pub(crate) fn scroll_to(app: &App, scroll: &ItemRc, from_top: f32) -> bool {
    let Some(flick) = scroll.downcast::<Flickable>() else { return false };
    let flick = flick.as_pin_ref();
    let end = (flick.content_height().get() - Place::of(scroll).height()).max(0.0);
    let to = i_slint_core::lengths::LogicalLength::new(-from_top.min(end));
    Flickable::FIELD_OFFSETS.content_y().apply_pin(flick).set(to);
    WindowInner::from_pub(app.window().window()).ensure_tree_instantiated();
    from_top < end
}

/// How far what is scrolled is from its top, in dp.
pub(crate) fn scrolled(scroll: &ItemRc) -> f32 {
    scroll.downcast::<Flickable>().map_or(0.0, |flick| -flick.as_pin_ref().content_y().get())
}

/// Sets every text on the screen to what `change` makes of it.
pub(crate) fn rewrite(app: &App, change: impl Fn(&str) -> Option<String>) -> usize {
    let mut changed = 0;
    let _: Option<()> = root(app).visit_descendants(|item| {
        if let Some(text) = item.downcast::<ComplexText>() {
            let property = ComplexText::FIELD_OFFSETS.text().apply_pin(text.as_pin_ref());
            if let Some(longer) = change(&property.get()).filter(|_| !property.is_constant()) {
                property.set(longer.into());
                changed += 1;
            }
        } else if let Some(text) = item.downcast::<SimpleText>() {
            let property = SimpleText::FIELD_OFFSETS.text().apply_pin(text.as_pin_ref());
            if let Some(longer) = change(&property.get()).filter(|_| !property.is_constant()) {
                property.set(longer.into());
                changed += 1;
            }
        }
        ControlFlow::Continue(())
    });
    changed
}

fn root(app: &App) -> ItemRc {
    ItemRc::new_root(WindowInner::from_pub(app.window().window()).component())
}

/// From the nearest to the window.
fn ancestors(item: &ItemRc) -> Vec<ItemRc> {
    std::iter::successors(item.parent_item(ParentItemTraversalMode::StopAtPopups), |item| {
        item.parent_item(ParentItemTraversalMode::StopAtPopups)
    })
    .collect()
}

/// Whether it is an element with `visible: false`.
fn is_hidden(item: &ItemRc) -> bool {
    item.downcast::<Clip>().is_some_and(|clip| {
        let clip = clip.as_pin_ref();
        clip.is_visibility_clip() && clip.clip()
    })
}

fn piece(item: &ItemRc, ancestors: &[ItemRc]) -> Option<Piece> {
    let place = Place::of(item);
    // A field of several lines scrolls its own text: it is where that can be seen.
    let is_area = item.downcast::<TextInput>().is_some_and(|input| !input.as_pin_ref().single_line());
    let own = ancestors.iter().position(|holder| holder.downcast::<Flickable>().is_some()).filter(|_| is_area);
    let (place, ancestors) =
        own.map_or((place, ancestors), |at| (place.cut_to(Place::of(&ancestors[at])), &ancestors[at + 1..]));
    let words = words(item, place);
    let control = control(item);
    let spoken = spoken(item);
    if (words.is_none() && control.is_none() && spoken.is_none()) || place.width() <= 0.0 || place.height() <= 0.0 {
        return None;
    }
    let mut seen = place;
    for holder in ancestors.iter().filter(|holder| holder.borrow().as_ref().clips_children()) {
        seen = seen.cut_to(Place::of(holder));
    }
    let holder = ancestors.iter().find(|holder| holder.borrow().as_ref().clips_children());
    let room = holder.or(ancestors.last()).map_or(place, |holder| {
        let own = Place::of(holder);
        holder.downcast::<Flickable>().map_or(own, |flick| {
            let flick = flick.as_pin_ref();
            let (x, y) = (flick.content_x().get(), flick.content_y().get());
            let width = flick.content_width().get().max(own.width());
            let height = flick.content_height().get().max(own.height());
            Place::new(own.left + x, own.top + y, width, height)
        })
    });
    let window = ancestors.last().map_or(place, Place::of);
    seen = seen.cut_to(window);
    let scroll = ancestors.iter().find(|holder| holder.downcast::<Flickable>().is_some());
    let kind = (0..item.element_count().unwrap_or(0))
        .find_map(|index| item.element_type_names_and_ids(index)?.first().map(|(name, _)| name.to_string()))
        .unwrap_or_default();
    let scroll = scroll.map(|item| (item.clone(), Place::of(item)));
    let is = |holder: &&ItemRc, role| holder.is_accessible() && holder.accessible_role() == role;
    let list = ancestors.iter().position(|holder| is(&holder, AccessibleRole::List));
    let list = list.and_then(|at| ancestors[..at].iter().rfind(|holder| holder.downcast::<Flickable>().is_some()));
    let is_told = ancestors.iter().any(|holder| is(&holder, AccessibleRole::ContentInfo));
    let (item, list) = (item.clone(), list.cloned());
    Some(Piece { item, is_told, list, kind, place, seen, scroll, room, within: Vec::new(), words, control, spoken })
}

fn words(item: &ItemRc, place: Place) -> Option<Words> {
    let (text, wraps, elides, across, down, brush) = if let Some(text) = item.downcast::<ComplexText>() {
        let text = text.as_pin_ref();
        let wraps = text.wrap() != TextWrap::NoWrap;
        let elides = text.overflow() == TextOverflow::Elide;
        (text.text(), wraps, elides, text.horizontal_alignment(), text.vertical_alignment(), text.color())
    } else if let Some(text) = item.downcast::<SimpleText>() {
        let text = text.as_pin_ref();
        (text.text(), false, false, text.horizontal_alignment(), text.vertical_alignment(), text.color())
    } else {
        return None;
    };
    if text.trim().is_empty() {
        return None;
    }
    let window = item.window_adapter()?;
    let info = |side, other| item.borrow().as_ref().layout_info(side, other, &window, item);
    let width = info(Orientation::Horizontal, -1.0);
    let height = info(Orientation::Vertical, place.width()).preferred;
    let ink_width = if wraps || elides { width.preferred.min(place.width()) } else { width.preferred };
    let left = match across {
        TextHorizontalAlignment::Center => place.left + (place.width() - ink_width) / 2.0,
        TextHorizontalAlignment::Right | TextHorizontalAlignment::End => place.right - ink_width,
        _ => place.left,
    };
    let top = match down {
        TextVerticalAlignment::Center => place.top + (place.height() - height) / 2.0,
        TextVerticalAlignment::Bottom => place.bottom - height,
        _ => place.top,
    };
    let color = brush.color();
    Some(Words {
        text: text.to_string(),
        color: [color.red(), color.green(), color.blue()],
        ink: Place::new(left, top, ink_width, height),
        needs_width: if wraps { width.min } else { width.preferred },
        needs_height: height,
        elides,
    })
}

fn string_of(item: &ItemRc, what: AccessibleStringProperty) -> Option<String> {
    item.accessible_string_property(what).map(|text| text.to_string())
}

fn control(item: &ItemRc) -> Option<Control> {
    let role = Some(item.accessible_role()).filter(|role| item.is_accessible() && ROLES.contains(role))?;
    let actions = item.supported_accessibility_actions();
    let (can_be_used, says_its_state) = match role {
        AccessibleRole::TextInput => (
            actions.contains(SupportedAccessibilityAction::SetValue),
            string_of(item, AccessibleStringProperty::Value).is_some(),
        ),
        AccessibleRole::Button => (actions.contains(SupportedAccessibilityAction::Default), true),
        _ => (
            actions.contains(SupportedAccessibilityAction::Default),
            string_of(item, AccessibleStringProperty::Checked).is_some(),
        ),
    };
    let label = string_of(item, AccessibleStringProperty::Label).unwrap_or_default();
    Some(Control {
        label,
        role,
        hint: string_of(item, AccessibleStringProperty::PlaceholderText),
        can_be_used,
        says_its_state,
        enabled: string_of(item, AccessibleStringProperty::Enabled).is_none_or(|enabled| enabled == "true"),
    })
}

fn spoken(item: &ItemRc) -> Option<String> {
    if !item.is_accessible() || HOLDERS.contains(&item.accessible_role()) {
        return None;
    }
    string_of(item, AccessibleStringProperty::Label).filter(|label| !label.is_empty())
}
