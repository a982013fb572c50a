//! What the screen of kept versions sends: the files are read and written on the saver's thread.

use std::rc::Rc;

use slint::{ComponentHandle, SharedString};

use crate::app::action::Action;
use crate::app::files::FileFor;
use crate::app::kept::{KeptAction, Wanted};
use crate::app::ui;
use crate::store::{Version, read};

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
        to.on_handed_out(self.with_name(|app, name| app.choose(FileFor::Version(name))));
        let app = Rc::downgrade(self);
        to.on_part_handed_out(move |index| {
            if let Some((app, index)) = app.upgrade().zip(at(index)) {
                app.choose(FileFor::Part(index));
            }
        });
        to.on_page_turned(self.sends(|page| at(page).map(|page| Action::Kept(KeptAction::Page(page)))));
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
}
