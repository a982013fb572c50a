//! What the controls of the page that is handed out send, and the way out of the app.

use std::rc::Rc;

use slint::ComponentHandle;

use crate::app::hand_out::{HandOutAction, HandedOut};
use crate::app::{Action, ui, view};
use crate::store::{EXPORTS, write_out};

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
        let app = Rc::downgrade(self);
        to.on_sent(move || {
            if let Some(app) = app.upgrade() {
                app.send_sheet();
            }
        });
    }

    fn send_sheet(&self) {
        let found = self.with(|state| state.hand_out.file().map(|file| (file, state.hand_out.format.media_type())));
        let Some(((name, bytes), media_type)) = found else { return };
        let went = self.send_out(&name, media_type, &bytes);
        self.act(Action::HandOut(HandOutAction::Went(went)));
    }

    /// Returns the folder that files go into.
    pub(super) fn out_folder(&self) -> Option<std::path::PathBuf> {
        let own = || self.folder().map(|folder| folder.join(EXPORTS));
        self.machine().documents_folder().or_else(own)
    }

    /// Lets a file out: the system asks who gets it, or it goes into the player's documents, or where the machine names
    /// neither into the app's own folder. Tells where it is, or why it is nowhere.
    pub(super) fn send_out(&self, name: &str, media_type: &str, bytes: &[u8]) -> Result<String, String> {
        let machine = self.machine();
        if machine.shares() {
            return machine.share(name, media_type, bytes).map_err(|fault| fault.to_string());
        }
        let folder = self.out_folder().ok_or_else(|| "no folder to write to".to_owned())?;
        let (name, ending) = name.rsplit_once('.').unwrap_or((name, "txt"));
        let written = write_out(&folder, name, ending, bytes);
        written.map(|path| path.display().to_string()).map_err(|fault| fault.to_string())
    }
}
