//! What the screen of kept versions sends: the files are read and written on the saver's thread.

use std::rc::Rc;

use slint::{ComponentHandle, SharedString};

use crate::app::action::Action;
use crate::app::kept::{KeptAction, Wanted};
use crate::app::ui;
use crate::store::{Version, read, write_out};

use super::app::App;
use super::taps::at;

fn told(done: Result<String, String>) -> Action {
    Action::Kept(KeptAction::Told(done))
}

impl App {
    pub(super) fn attach_kept(self: &Rc<Self>) {
        let to = self.window().global::<ui::KeptState<'_>>();
        to.on_looked_into(self.with_name(|app, name| app.read_version(name, Wanted::Look)));
        to.on_restored(self.with_name(|app, name| {
            app.keep_version();
            app.read_version(name, Wanted::Restore);
        }));
        to.on_handed_out(self.with_name(|app, name| app.hand_out(name)));
        let app = Rc::downgrade(self);
        to.on_part_handed_out(move |index| {
            if let Some((app, index)) = app.upgrade().zip(at(index)) {
                app.hand_out_part(index);
            }
        });
        to.on_part_let_go(self.sends(|index| at(index).map(|index| Action::Kept(KeptAction::LetGo(index)))));
    }

    fn with_name(self: &Rc<Self>, act: impl Fn(&Self, String) + 'static) -> impl Fn(SharedString) + 'static {
        let app = Rc::downgrade(self);
        move |name| {
            if let Some(app) = app.upgrade() {
                act(&app, name.into());
            }
        }
    }

    /// Lists what lies beside the library.
    pub(super) fn list_versions(&self) {
        self.ask(|file| {
            let versions: Vec<Version> = file.versions().unwrap_or_default();
            Action::Kept(KeptAction::Listed(versions))
        });
    }

    fn read_version(&self, name: String, wanted: Wanted) {
        self.ask(move |file| {
            let bytes = file.read_version(&name).map_err(|fault| fault.to_string());
            match bytes.and_then(|bytes| read(&bytes).map_err(|fault| fault.to_string())) {
                Ok(library) => Action::Kept(KeptAction::Loaded(wanted, Box::new(library))),
                Err(fault) => told(Err(fault)),
            }
        });
    }

    fn hand_out(&self, name: String) {
        let Some(folder) = self.out_folder() else { return };
        self.ask(move |file| {
            let title = name.trim_end_matches(".json").replace('.', "-");
            let done = file.read_version(&name).and_then(|bytes| write_out(&folder, &title, "json", &bytes));
            told(done.map(|path| path.display().to_string()).map_err(|fault| fault.to_string()))
        });
    }

    fn hand_out_part(&self, index: usize) {
        let text = self.with(|state| state.library.set_aside().get(index).map(crate::store::SetAside::as_file));
        let Some((folder, text)) = self.out_folder().zip(text) else { return };
        self.ask(move |_| {
            let done = write_out(&folder, "not-understood", "json", text.as_bytes());
            told(done.map(|path| path.display().to_string()).map_err(|fault| fault.to_string()))
        });
    }
}
