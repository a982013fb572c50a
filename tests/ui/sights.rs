//! Every screen in every state that has an arrangement of its own, by the way that leads there.

use std::rc::Rc;

use pegwise::app::{
    Action, App, ExchangeAction, FileFor, FilesAction, InstrumentAction, Notice, OwnTuningAction, Screen, ShapesAction,
    State, Tab, TuningsAction, TuningsView, scenes,
};
use pegwise::store::{DiagramSide, Library, SaveError};
use pegwise::theory::Naming;
use slint::{ComponentHandle, LogicalSize};

use crate::bench_window::{act, open_in, tap};
use crate::every_screen::ways;

/// A screen in one state: what was kept before, what is done, and what is tapped then, by its English label.
#[derive(Clone, Debug, Default)]
pub(crate) struct Sight {
    pub(crate) name: String,
    pub(crate) library: Library,
    pub(crate) notice: Option<Notice>,
    pub(crate) actions: Vec<Action>,
    pub(crate) taps: Vec<&'static str>,
}

impl Sight {
    fn new(name: &str, actions: Vec<Action>) -> Self {
        Self { name: name.to_owned(), actions, ..Self::default() }
    }

    fn tapped(self, label: &'static str) -> Self {
        let taps = self.taps.into_iter().chain([label]).collect();
        Self { taps, ..self }
    }

    fn with(mut self, set: impl FnOnce(&mut Library)) -> Self {
        set(&mut self.library);
        self
    }

    /// Opens it in a language. What has to be tapped is tapped in English first, in a window so high that it is in sight.
    pub(crate) fn open(&self, language: &str, width: f32, height: f32, text_dp: f32) -> Rc<App> {
        let mut library = self.library.clone();
        // The first run is a state of its own, asked for where it is looked at.
        library.settings.has_seen_guide = true;
        library.settings.has_heard_wobble = true;
        library.settings.language = Some("en".to_owned());
        let mut state = State::new(library);
        state.notice.clone_from(&self.notice);
        let app = open_in(state, width, if self.taps.is_empty() { height } else { 3000.0 });
        app.window().set_text_size(text_dp);
        act(&app, self.actions.clone());
        for label in &self.taps {
            tap(&app, label);
        }
        app.window().window().set_size(LogicalSize::new(width, height));
        if language != "en" {
            slint::select_bundled_translation(language).unwrap();
        }
        app
    }
}

/// Scenes in these are left out: every language has a run of its own.
const LANGUAGES: [&str; 3] = ["-german", "-french", "-spanish"];

/// All of them: the screens of [`ways`], the states that are drawn as pictures, and what only a tap, a setting or a fault
/// brings about.
pub(crate) fn sights() -> Vec<Sight> {
    let drawn = scenes().into_iter().filter(|scene| !LANGUAGES.iter().any(|language| scene.name.ends_with(language)));
    let drawn = drawn.filter(|scene| ways().iter().all(|(_, way)| *way != scene.taps));
    let drawn = drawn.map(|scene| Sight {
        notice: scene.notice.clone(),
        ..Sight::new(&format!("drawn {}", scene.name), scene.taps)
    });
    let plain = ways().into_iter().map(|(name, way)| Sight::new(name, way));
    plain.chain(drawn).chain(special()).collect()
}

fn special() -> Vec<Sight> {
    let instrument = |id: &str| Action::Instrument(InstrumentAction::Instrument(id.to_owned()));
    let on = |id: &str, screen| vec![instrument(id), Action::Tab(Tab::Shapes), Action::Open(screen)];
    let shapes = |id: &str| vec![instrument(id), Action::Tab(Tab::Shapes)];
    let large = || vec![Action::Tab(Tab::Shapes), Action::Shapes(ShapesAction::Large)];
    let step = ways().into_iter().find(|(name, _)| *name == "retune").map(|(_, way)| way).unwrap_or_default();
    let fault = Notice::SaveFailed(SaveError::DiskFull);
    let own = || {
        let typed = OwnTuningAction::Name("The long way home".to_owned());
        [OwnTuningAction::New, typed, OwnTuningAction::Save].map(Action::OwnTuning)
    };
    let asked = |what, way: Vec<Action>| {
        let path = "/home/player/Documents/pegwise-library.json".to_owned();
        [way, vec![Action::Files(FilesAction::Ask(what, path))]].concat()
    };
    let way = |wanted: &str| ways().into_iter().find(|(name, _)| *name == wanted).map(|(_, way)| way).unwrap();
    let exchange = |action| Action::Exchange(action);
    let many: String = (0..60)
        .map(|number| {
            format!(
                r#"{{"id":{number},"title":"Song {number}","instrument_id":"guitar","tuning":{{"pitches":"E2 A2"}}}},"#
            )
        })
        .collect();
    let many = format!(r#"{{"format":"pegwise-library","version":1,"songs":[{}]}}"#, many.trim_end_matches(','));
    let list_of_own = Action::Tunings(TuningsAction::View(TuningsView::Own));
    vec![
        Sight::new("ways open", step.clone()).tapped("Another way"),
        Sight::new("instruments open", vec![Action::Open(Screen::Instrument)]).tapped("Instrument:"),
        Sight::new("string sets open", vec![Action::Open(Screen::Instrument)]).tapped("String set:"),
        Sight { notice: Some(fault), ..Sight::new("message", Vec::new()) },
        Sight::new("own kept", own().into_iter().chain([Action::Tab(Tab::Tunings), list_of_own]).collect()),
        Sight::new("path to read", asked(FileFor::Import, vec![Action::Open(Screen::Exchange)])),
        Sight::new("path to write", asked(FileFor::Export, way("outgoing"))),
        Sight::new("path of a sheet", asked(FileFor::Sheet, way("shape handed out"))),
        Sight::new("path of a version", asked(FileFor::Version("other-1".to_owned()), way("kept"))),
        Sight::new(
            "reading",
            vec![
                Action::Open(Screen::Exchange),
                exchange(ExchangeAction::Begin),
                exchange(ExchangeAction::Share(0.42)),
            ],
        ),
        Sight::new(
            "many come in",
            vec![
                Action::Open(Screen::Exchange),
                exchange(ExchangeAction::Typed(many)),
                exchange(ExchangeAction::Read),
                exchange(ExchangeAction::Page(1)),
            ],
        ),
        Sight::new("ten courses", shapes("ten-string-guitar")),
        Sight::new("all shapes of ten courses", on("ten-string-guitar", Screen::Overview)),
        Sight::new("all shapes of four courses", on("soprano-ukulele", Screen::Overview)),
        Sight::new("all shapes on their side", on("guitar", Screen::Overview))
            .with(|library| library.settings.diagram = DiagramSide::OnSide),
        Sight::new("neck of ten courses", on("ten-string-guitar", Screen::Neck)),
        Sight::new(
            "own of ten courses",
            vec![instrument("ten-string-guitar"), Action::OwnTuning(OwnTuningAction::New)],
        ),
        Sight::new("tunings of ten courses", vec![instrument("ten-string-guitar")]),
        Sight::new("pairs", shapes("twelve-string-guitar")),
        Sight::new("three courses", shapes("cigar-box-guitar")),
        Sight::new("drone", shapes("five-string-banjo")),
        Sight::new("show with its sounds", large()).tapped("Hear it"),
        Sight::new("mirrored", large()).with(|library| library.settings.is_left_handed = true),
        Sight::new("on its side", large()).with(|library| library.settings.diagram = DiagramSide::OnSide),
        Sight::new("do re mi", Vec::new()).with(|library| library.settings.naming = Some(Naming::Solfege)),
        Sight::new("do re mi step", step).with(|library| library.settings.naming = Some(Naming::Solfege)),
        Sight::new("do re mi shapes", shapes("guitar")).with(|library| library.settings.naming = Some(Naming::Solfege)),
        Sight::new("do re mi plan", on("guitar", Screen::KeyPlan))
            .with(|library| library.settings.naming = Some(Naming::Solfege)),
        Sight::new("do re mi show", large()).with(|library| library.settings.naming = Some(Naming::Solfege)),
    ]
}
