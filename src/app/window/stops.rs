//! What the keys can reach, read from the toolkit's own tree.

use std::ops::ControlFlow;

use i_slint_core::accessibility::AccessibleStringProperty;
use i_slint_core::item_tree::{ItemRc, ParentItemTraversalMode};
use i_slint_core::items::{AccessibleRole, Clip, Flickable, FocusScope, TextInput};
use i_slint_core::window::WindowInner;

/// A place in the window, in dp.
#[derive(Clone, Copy, Debug)]
pub(super) struct Place {
    pub(super) left: f32,
    pub(super) top: f32,
    pub(super) right: f32,
    pub(super) bottom: f32,
}

impl Place {
    pub(super) fn of(item: &ItemRc) -> Self {
        let geometry = item.geometry();
        let corner = item.map_to_window(geometry.origin);
        let (width, height) = (geometry.width(), geometry.height());
        Self { left: corner.x, top: corner.y, right: corner.x + width, bottom: corner.y + height }
    }

    pub(super) fn height(self) -> f32 {
        self.bottom - self.top
    }

    pub(super) fn middle(self) -> (f32, f32) {
        (f32::midpoint(self.left, self.right), f32::midpoint(self.top, self.bottom))
    }

    /// Whether both share more than an edge.
    pub(super) fn meets(self, other: Self) -> bool {
        self.right.min(other.right) - self.left.max(other.left) > 1.0
            && self.bottom.min(other.bottom) - self.top.max(other.top) > 1.0
    }

    /// Whether all of its height lies in `other`.
    pub(super) fn stands_in(self, other: Self) -> bool {
        self.top >= other.top - 1.0 && self.bottom <= other.bottom + 1.0
    }
}

/// A control that can have the keys.
#[derive(Clone)]
pub(super) struct Stop {
    /// What takes the keys: the control's own scope, or a field's text.
    pub(super) focus: ItemRc,
    pub(super) role: AccessibleRole,
    pub(super) label: String,
    pub(super) place: Place,
    pub(super) can_be_used: bool,
    /// What it is scrolled in.
    pub(super) scroll: Option<ItemRc>,
    /// The list it stands in, as what is scrolled, and its row there.
    pub(super) row: Option<(ItemRc, ItemRc)>,
    /// The choices, the sliding row or the bar it belongs to.
    pub(super) group: Option<ItemRc>,
    /// It is part of the message that lies over the page.
    pub(super) is_told: bool,
}

/// The roles of what can be used.
const ROLES: [AccessibleRole; 6] = [
    AccessibleRole::Button,
    AccessibleRole::Checkbox,
    AccessibleRole::Switch,
    AccessibleRole::RadioButton,
    AccessibleRole::Tab,
    AccessibleRole::TextInput,
];

const GROUPS: [AccessibleRole; 2] = [AccessibleRole::Groupbox, AccessibleRole::TabList];

/// Returns everything in the window that can have the keys, as it is read; the message, told last of all, comes first.
pub(super) fn read(window: &WindowInner) -> Vec<Stop> {
    let mut found = Vec::new();
    let root = ItemRc::new_root(window.component());
    let _: Option<()> = root.visit_descendants(|item| {
        found.extend(stop(item));
        ControlFlow::Continue(())
    });
    let (mut told, page): (Vec<Stop>, Vec<Stop>) = found.into_iter().partition(|stop| stop.is_told);
    told.extend(page);
    told
}

/// Returns where that lies which is told over the page: what a word means, then the message.
pub(super) fn over_the_page(window: &WindowInner) -> Vec<Place> {
    let root = ItemRc::new_root(window.component());
    let mut found = Vec::new();
    let _: Option<()> = root.visit_descendants(|item| {
        if item.is_accessible() && item.accessible_role() == AccessibleRole::ContentInfo {
            found.push(Place::of(item));
        }
        ControlFlow::Continue(())
    });
    found
}

/// Returns every vertical scroll in the window that holds more than it shows.
pub(super) fn scrolls(window: &WindowInner) -> Vec<ItemRc> {
    let mut found = Vec::new();
    let root = ItemRc::new_root(window.component());
    let _: Option<()> = root.visit_descendants(|item| {
        if item.is_visible() && is_longer(item) {
            found.push(item.clone());
        }
        ControlFlow::Continue(())
    });
    found
}

/// Whether an item scrolls up and down.
pub(super) fn is_longer(item: &ItemRc) -> bool {
    item.downcast::<Flickable>()
        .is_some_and(|flick| flick.as_pin_ref().content_height().get() > item.geometry().height() + 1.0)
}

/// From the nearest to the window.
pub(super) fn ancestors(item: &ItemRc) -> Vec<ItemRc> {
    let above = |item: &ItemRc| item.parent_item(ParentItemTraversalMode::StopAtPopups);
    std::iter::successors(above(item), above).collect()
}

/// Returns the control that has the keys where `focus` has them.
pub(super) fn stop(focus: &ItemRc) -> Option<Stop> {
    let scope = focus.downcast::<FocusScope>().map(|scope| scope.as_pin_ref().enabled());
    let field = focus.downcast::<TextInput>().map(|field| field.as_pin_ref().enabled());
    let can_be_used = scope.or(field)?;
    let above = ancestors(focus);
    let control = std::iter::once(focus).chain(&above).find(|item| item.is_accessible())?;
    let role = Some(control.accessible_role()).filter(|role| ROLES.contains(role))?;
    let is_hidden = |item: &ItemRc| {
        let clip = item.downcast::<Clip>();
        clip.is_some_and(|clip| clip.as_pin_ref().is_visibility_clip() && clip.as_pin_ref().clip())
    };
    let place = Place::of(control);
    if above.iter().any(is_hidden) || place.right <= place.left || place.bottom <= place.top {
        return None;
    }
    let is = |item: &ItemRc, roles: &[AccessibleRole]| item.is_accessible() && roles.contains(&item.accessible_role());
    let is_scroll = |item: &ItemRc| item.downcast::<Flickable>().is_some();
    let list = above.iter().position(|item| is(item, &[AccessibleRole::List]));
    let scroll_of_list = list.and_then(|list| above[..list].iter().rposition(is_scroll));
    let row = scroll_of_list.and_then(|scroll| {
        let row = above[..scroll].iter().rfind(|item| item.is_root())?;
        Some((above[scroll].clone(), row.clone()))
    });
    let label = control.accessible_string_property(AccessibleStringProperty::Label).unwrap_or_default();
    Some(Stop {
        focus: focus.clone(),
        role,
        label: label.into(),
        place,
        can_be_used,
        scroll: above.iter().find(|item| is_scroll(item)).cloned(),
        row,
        group: above.iter().find(|item| is(item, &GROUPS)).cloned(),
        is_told: above.iter().any(|item| is(item, &[AccessibleRole::ContentInfo])),
    })
}
