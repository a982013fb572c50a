//! What the controls of the page that is handed out send.

use std::rc::Rc;

use slint::ComponentHandle;

use crate::app::files::FileFor;
use crate::app::hand_out::{HandOutAction, HandedOut};
use crate::app::{Action, ui, view};

use super::App;

impl App {
    /// Connects the screen, and the buttons that lead to it.
    pub(super) fn attach_hand_out(self: &Rc<Self>) {
        let to = self.window().global::<ui::HandOutState<'_>>();
        let app = Rc::downgrade(self);
        to.on_wanted(move |what| {
            let Some(app) = app.upgrade() else { return };
            let what = app.with(|state| match what {
                ui::HandedOut::Tuning => Some(HandedOut::Tuning),
                ui::HandedOut::Shape => Some(HandedOut::Shape),
                ui::HandedOut::Key => Some(HandedOut::Key),
                ui::HandedOut::Song => state.song.id.map(HandedOut::Song),
                ui::HandedOut::Tune => Some(HandedOut::Tune),
                ui::HandedOut::SetList => state.set_list.id.map(HandedOut::SetList),
            });
            if let Some(what) = what {
                app.act_soon(Action::HandOut(HandOutAction::Open(what)));
            }
        });
        to.on_chords_only_chosen(self.sends(|only| Some(Action::HandOut(HandOutAction::ChordsOnly(only)))));
        to.on_large_chosen(self.sends(|large| Some(Action::HandOut(HandOutAction::Large(large)))));
        to.on_format_chosen(self.sends(|format| Some(Action::HandOut(HandOutAction::Format(view::format_of(format))))));
        let app = Rc::downgrade(self);
        to.on_page_turned(move |by| {
            if let Some(app) = app.upgrade() {
                let page = app.with(|state| state.hand_out.page);
                let page = if by < 0 { page.saturating_sub(1) } else { page + 1 };
                app.act_soon(Action::HandOut(HandOutAction::Page(page)));
            }
        });
        to.on_sent(self.once(|app| app.choose(FileFor::Sheet)));
    }
}
