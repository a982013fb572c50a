//! Where the player was, in a few lines of text: a phone asks for it before it forgets an app, and hands it back when
//! the app is opened again.
//!
//! What is on the guitar and a half-done retuning are in the library; here is only which screen was shown, and which
//! shape of which chord, in which tuning where one is only looked at. Screens that show something half entered are left out, and those above them.

use crate::shapes::Shape;
use crate::theory::{Chord, Key};

use super::screen::{Screen, Tab};
use super::state::State;

/// The screens that need nothing but what a place holds, and what they are called in it.
const SCREENS: [(Screen, &str); 16] = [
    (Screen::Tunings, "tunings"),
    (Screen::Retune, "retune"),
    (Screen::Shapes, "shapes"),
    (Screen::Songs, "songs"),
    (Screen::More, "more"),
    (Screen::Show, "show"),
    (Screen::Overview, "overview"),
    (Screen::KeyPicker, "key"),
    (Screen::Filters, "filters"),
    (Screen::KeyPlan, "plan"),
    (Screen::Neck, "neck"),
    (Screen::Instrument, "instrument"),
    (Screen::Settings, "settings"),
    (Screen::About, "about"),
    (Screen::Kept, "kept"),
    (Screen::Licences, "licences"),
];

fn name_of(screen: Screen) -> Option<&'static str> {
    SCREENS.into_iter().find(|(known, _)| *known == screen).map(|(_, name)| name)
}

fn screen_of(name: &str) -> Option<Screen> {
    SCREENS.into_iter().find(|(_, known)| *known == name).map(|(screen, _)| screen)
}

impl State {
    /// Returns where the player is: a line each for the screens from the tab up, the key, the chord, its shape, and the
    /// tuning that is looked at, if one is; then key, chord and shape are those of the look.
    #[must_use]
    pub fn place(&self) -> String {
        let screens = std::iter::once(self.tab().screen()).chain(self.above().iter().copied());
        let screens: Vec<_> = screens.map_while(name_of).collect();
        let board = self.board();
        let shape = self.shapes.shape().map(|found| found.shape().written(&board)).unwrap_or_default();
        let (key, chord) = (self.shapes.key, self.shapes.chord);
        format!("{}\n{key}\n{}\n{shape}\n{}", screens.join(" "), chord.ascii(), self.written_look())
    }

    /// Goes back to where the player was. What cannot be read, or no longer fits, is left as it is.
    pub fn return_to(&mut self, place: &str) {
        let mut lines = place.lines();
        let screens = lines.next().unwrap_or_default();
        self.look_back();
        if let Some(look) = place.lines().nth(4) {
            self.look_as_written(look);
        }
        if let Some(key) = lines.next().and_then(|key| Key::read(key).ok()).filter(|key| *key != self.shapes.key) {
            self.set_key(key);
        }
        if let Some(chord) = lines.next().and_then(|chord| Chord::read(chord).ok()) {
            self.choose_chord(chord);
        }
        self.settle();
        let board = self.board();
        if let Some(shape) = lines.next().and_then(|shape| Shape::read_on(shape, &board).ok()) {
            self.shapes.turn_to(&shape, &board);
        }
        let mut screens = screens.split(' ').map_while(screen_of);
        let tab = screens.next().and_then(|first| Tab::ALL.into_iter().find(|tab| tab.screen() == first));
        if let Some(tab) = tab {
            self.open_tab(tab);
            for screen in screens {
                self.show(screen);
            }
        }
        self.settle();
    }
}
