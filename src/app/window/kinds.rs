//! The kinds of things that the screens and the app both name.

use crate::app::explained::Term;
use crate::app::screen::{Screen, Tab};
use crate::app::shapes::{ChordSet, Labels};
use crate::app::tunings::TuningsView;
use crate::app::ui;
use crate::shapes::Style;
use crate::store::Theme;

pub(super) const fn screen_view(screen: Screen) -> ui::Screen {
    match screen {
        Screen::Tunings => ui::Screen::Tunings,
        Screen::Retune => ui::Screen::Retune,
        Screen::Shapes => ui::Screen::Shapes,
        Screen::More => ui::Screen::More,
        Screen::Songs => ui::Screen::Songs,
        Screen::Song => ui::Screen::Song,
        Screen::SongEditor => ui::Screen::SongEditor,
        Screen::SongTuning => ui::Screen::SongTuning,
        Screen::SongChord => ui::Screen::SongChord,
        Screen::SongCompare => ui::Screen::SongCompare,
        Screen::SongChoice => ui::Screen::SongChoice,
        Screen::Tune => ui::Screen::Tune,
        Screen::TuneHow => ui::Screen::TuneHow,
        Screen::TuneMoment => ui::Screen::TuneMoment,
        Screen::TuneSteps => ui::Screen::TuneSteps,
        Screen::TuneTunings => ui::Screen::TuneTunings,
        Screen::TuneEntry => ui::Screen::TuneEntry,
        Screen::TuneNeck => ui::Screen::TuneNeck,
        Screen::TunePluck => ui::Screen::TunePluck,
        Screen::SetList => ui::Screen::SetList,
        Screen::Playing => ui::Screen::Playing,
        Screen::Exchange => ui::Screen::Exchange,
        Screen::Outgoing => ui::Screen::Outgoing,
        Screen::HandOut => ui::Screen::HandOut,
        Screen::Kept => ui::Screen::Kept,
        Screen::Licences => ui::Screen::Licences,
        Screen::Show => ui::Screen::Show,
        Screen::Overview => ui::Screen::Overview,
        Screen::KeyPicker => ui::Screen::KeyPicker,
        Screen::ChordPicker => ui::Screen::ChordPicker,
        Screen::Filters => ui::Screen::Filters,
        Screen::KeyPlan => ui::Screen::KeyPlan,
        Screen::Neck => ui::Screen::Neck,
        Screen::OwnTuning => ui::Screen::OwnTuning,
        Screen::Instrument => ui::Screen::Instrument,
        Screen::OneString => ui::Screen::OneString,
        Screen::Settings => ui::Screen::Settings,
        Screen::About => ui::Screen::About,
    }
}

pub(super) const fn screen_of(screen: ui::Screen) -> Screen {
    match screen {
        ui::Screen::Tunings => Screen::Tunings,
        ui::Screen::Retune => Screen::Retune,
        ui::Screen::Shapes => Screen::Shapes,
        ui::Screen::More => Screen::More,
        ui::Screen::Songs => Screen::Songs,
        ui::Screen::Song => Screen::Song,
        ui::Screen::SongEditor => Screen::SongEditor,
        ui::Screen::SongTuning => Screen::SongTuning,
        ui::Screen::SongChord => Screen::SongChord,
        ui::Screen::SongCompare => Screen::SongCompare,
        ui::Screen::SongChoice => Screen::SongChoice,
        ui::Screen::Tune => Screen::Tune,
        ui::Screen::TuneHow => Screen::TuneHow,
        ui::Screen::TuneMoment => Screen::TuneMoment,
        ui::Screen::TuneSteps => Screen::TuneSteps,
        ui::Screen::TuneTunings => Screen::TuneTunings,
        ui::Screen::TuneEntry => Screen::TuneEntry,
        ui::Screen::TuneNeck => Screen::TuneNeck,
        ui::Screen::TunePluck => Screen::TunePluck,
        ui::Screen::SetList => Screen::SetList,
        ui::Screen::Playing => Screen::Playing,
        ui::Screen::Exchange => Screen::Exchange,
        ui::Screen::Outgoing => Screen::Outgoing,
        ui::Screen::HandOut => Screen::HandOut,
        ui::Screen::Kept => Screen::Kept,
        ui::Screen::Licences => Screen::Licences,
        ui::Screen::Show => Screen::Show,
        ui::Screen::Overview => Screen::Overview,
        ui::Screen::KeyPicker => Screen::KeyPicker,
        ui::Screen::ChordPicker => Screen::ChordPicker,
        ui::Screen::Filters => Screen::Filters,
        ui::Screen::KeyPlan => Screen::KeyPlan,
        ui::Screen::Neck => Screen::Neck,
        ui::Screen::OwnTuning => Screen::OwnTuning,
        ui::Screen::Instrument => Screen::Instrument,
        ui::Screen::OneString => Screen::OneString,
        ui::Screen::Settings => Screen::Settings,
        ui::Screen::About => Screen::About,
    }
}

pub(super) const fn tab_view(tab: Tab) -> ui::Tab {
    match tab {
        Tab::Tunings => ui::Tab::Tunings,
        Tab::Retune => ui::Tab::Retune,
        Tab::Shapes => ui::Tab::Shapes,
        Tab::Songs => ui::Tab::Songs,
        Tab::More => ui::Tab::More,
    }
}

pub(super) const fn tab_of(tab: ui::Tab) -> Option<Tab> {
    match tab {
        ui::Tab::Tunings => Some(Tab::Tunings),
        ui::Tab::Retune => Some(Tab::Retune),
        ui::Tab::Shapes => Some(Tab::Shapes),
        ui::Tab::More => Some(Tab::More),
        ui::Tab::Songs => Some(Tab::Songs),
    }
}

pub(super) const fn tunings_view(view: ui::TuningsView) -> TuningsView {
    match view {
        ui::TuningsView::Lately => TuningsView::Lately,
        ui::TuningsView::Nearest => TuningsView::Nearest,
        ui::TuningsView::Families => TuningsView::Kinds,
        ui::TuningsView::Own => TuningsView::Own,
    }
}

pub(super) const fn style_of(play: ui::PlayStyle) -> Style {
    match play {
        ui::PlayStyle::Strummed => Style::Strummed,
        ui::PlayStyle::Picked => Style::Picked,
    }
}

pub(super) const fn labels_of(labels: ui::MarkerLabels) -> Labels {
    match labels {
        ui::MarkerLabels::Finger => Labels::Finger,
        ui::MarkerLabels::Note => Labels::Note,
        ui::MarkerLabels::Degree => Labels::Degree,
    }
}

pub(super) const fn chord_set_of(set: ui::KeyChordSet) -> ChordSet {
    match set {
        ui::KeyChordSet::Triads => ChordSet::Triads,
        ui::KeyChordSet::Sevenths => ChordSet::Sevenths,
        ui::KeyChordSet::More => ChordSet::More,
    }
}

pub(super) const fn theme_of(theme: ui::ThemeChoice) -> Theme {
    match theme {
        ui::ThemeChoice::System => Theme::System,
        ui::ThemeChoice::Light => Theme::Light,
        ui::ThemeChoice::Dark => Theme::Dark,
        ui::ThemeChoice::Sunlight => Theme::Sunlight,
    }
}

pub(super) const fn term_view(term: Term) -> ui::Term {
    match term {
        Term::Wobble => ui::Term::Wobble,
        Term::Harmonic => ui::Term::Harmonic,
        Term::Cents => ui::Term::Cents,
        Term::Pair => ui::Term::Pair,
        Term::Drone => ui::Term::Drone,
        Term::Round => ui::Term::Round,
        Term::Slack => ui::Term::Slack,
    }
}

pub(super) fn term_of(term: ui::Term) -> Option<Term> {
    Term::ALL.into_iter().find(|of_app| term_view(*of_app) == term)
}
