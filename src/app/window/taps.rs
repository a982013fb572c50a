//! What each control sends.

use std::rc::Rc;

use slint::{ComponentHandle, SharedString};

use crate::app::action::Action;
use crate::app::ears::EarsAction;
use crate::app::explained::ExplainAction;
use crate::app::guide::GuideAction;
use crate::app::guitar::StringsTold;
use crate::app::instrument::InstrumentAction;
use crate::app::key_plan::KeyPlanAction;
use crate::app::look::LookAction;
use crate::app::neck::{NeckAction, NeckShows, fret_in_row};
use crate::app::own_tuning::OwnTuningAction;
use crate::app::pick::PickAction;
use crate::app::retune::RetuneAction;
use crate::app::screen::Tab;
use crate::app::settings::SettingsAction;
use crate::app::shapes::ShapesAction;
use crate::app::stage::StageAction;
use crate::app::string_entry::StringEntryAction;
use crate::app::tunings::TuningsAction;
use crate::app::{Field, Notice, cut, ui, view};
use crate::instrument::{Bridge, Fret, Language};
use crate::store::Temperament;
use crate::theory::{Naming, SpellingChoice};

use super::app::App;
use super::kinds::{chord_set_of, labels_of, screen_of, style_of, tab_of, term_of, theme_of, tunings_view};

impl App {
    /// Sends every tap back as an action.
    pub(super) fn attach(self: &Rc<Self>) {
        self.attach_app();
        self.attach_keys();
        self.attach_tunings();
        self.attach_retune();
        self.attach_shapes();
        self.attach_pickers();
        self.attach_neck();
        self.attach_own_tuning();
        self.attach_choices();
        self.attach_listening();
        self.attach_songs();
        self.attach_kept();
        self.attach_files();
    }

    fn attach_listening(self: &Rc<Self>) {
        let to = self.window().global::<ui::ListenState<'_>>();
        to.on_switched(self.does(|| Action::Ears(EarsAction::Listen)));
        to.on_played(self.sends(|sound| view::sound_of(sound).map(|sound| Action::Ears(EarsAction::Hear(sound)))));
        to.on_hushed(self.does(|| Action::Ears(EarsAction::Hush)));
        to.on_wobble_raised(self.does(|| Action::Ears(EarsAction::WobbleBy(1))));
        to.on_wobble_lowered(self.does(|| Action::Ears(EarsAction::WobbleBy(-1))));
        to.on_lesson_wanted(self.does(|| Action::Ears(EarsAction::Lesson)));
        to.on_lesson_done(self.does(|| Action::Ears(EarsAction::LessonDone)));
    }

    fn attach_app(self: &Rc<Self>) {
        let to = self.window().global::<ui::AppState<'_>>();
        to.on_go(self.sends(|screen| Some(Action::Open(screen_of(screen)))));
        to.on_tab_tapped(self.sends(|tab| tab_of(tab).map(Action::Tab)));
        to.on_look_ended(self.does(|| Action::Look(LookAction::Back)));
        to.on_look_taken(self.does(|| Action::Look(LookAction::Retune)));
        to.on_message_closed(self.does(|| Action::CloseNotice));
        let app = Rc::downgrade(self);
        to.on_unsaved_tapped(move || {
            if let Some(app) = app.upgrade() {
                app.tell_unsaved();
            }
        });
        let app = Rc::downgrade(self);
        to.on_fitting(move |text, most| {
            let most = at(most).filter(|&most| most > 0);
            let Some(fitting) = cut(&text, most.map_or(Field::Lines, Field::Line)) else { return text };
            // Signs that a field cannot show go without a word.
            if let Some(app) = app.upgrade().filter(|_| fitting.len() + 8 < text.len()) {
                app.tell_soon(Notice::TextCut(most));
            }
            fitting.into()
        });
        let explained = self.window().global::<ui::ExplainedState<'_>>();
        let app = Rc::downgrade(self);
        explained.on_tapped(move |term, from_top| {
            if let Some((app, term)) = app.upgrade().zip(term_of(term)) {
                app.explain(term, from_top);
            }
        });
        explained.on_closed(self.does(|| Action::Explain(ExplainAction::Close)));
        to.on_guide_skipped(self.does(|| Action::Guide(GuideAction::Skip)));
        to.on_guide_wanted(self.does(|| Action::Guide(GuideAction::Again)));
        let app = Rc::downgrade(self);
        to.on_news_came(move || {
            if let Some(app) = app.upgrade() {
                app.hear();
            }
        });
        let app = Rc::downgrade(self);
        to.on_back_key(move || app.upgrade().is_some_and(|app| app.act_at_key(Action::BackKey)));
        to.on_back(self.does(|| Action::Back));
    }

    fn attach_tunings(self: &Rc<Self>) {
        let to = self.window().global::<ui::TuningsState<'_>>();
        to.on_searched(self.types(|text| Action::Tunings(TuningsAction::Search(text))));
        to.on_view_chosen(self.sends(|view| Some(Action::Tunings(TuningsAction::View(tunings_view(view))))));
        to.on_row_tapped(self.sends(|row: ui::TuningRow| match row.leads {
            ui::RowLeads::Retuning => Some(Action::Tab(Tab::Retune)),
            ui::RowLeads::SetList => Some(Action::Stage(StageAction::GoOn)),
            ui::RowLeads::Tuning => Some(Action::Tunings(TuningsAction::Choose(row.id.into()))),
            ui::RowLeads::Capo => {
                Some(Action::Tunings(TuningsAction::Capo(Fret::new(u8::try_from(row.capo_fret).ok()?))))
            }
        }));
        to.on_looked_at(self.sends(|id: SharedString| Some(Action::Tunings(TuningsAction::Look(id.into())))));
        to.on_typed_notes_looked_at(
            self.sends(|index| at(index).map(|index| Action::Tunings(TuningsAction::LookTyped(index)))),
        );
        to.on_edited(self.sends(|id: SharedString| Some(Action::OwnTuning(OwnTuningAction::Edit(id.into())))));
        to.on_made(self.does(|| Action::OwnTuning(OwnTuningAction::New)));
        to.on_typed_notes_tapped(
            self.sends(|index| at(index).map(|index| Action::Tunings(TuningsAction::ChooseTyped(index)))),
        );
    }

    fn attach_retune(self: &Rc<Self>) {
        let to = self.window().global::<ui::RetuneState<'_>>();
        to.on_confirmed(self.does(|| Action::Retune(RetuneAction::Confirm)));
        to.on_undone(self.does(|| Action::Retune(RetuneAction::Undo)));
        to.on_restarted(self.does(|| Action::Retune(RetuneAction::StartOver)));
        to.on_way_chosen(self.sends(|index| at(index).map(|index| Action::Retune(RetuneAction::Match(index)))));
        to.on_string_doubted(self.sends(|course: SharedString| {
            course.parse().ok().map(|number| Action::Retune(RetuneAction::Doubt(number)))
        }));
        to.on_all_doubted(self.does(|| Action::Retune(RetuneAction::DoubtAll)));
        to.on_check_tapped(self.sends(|index| at(index).map(|index| Action::Retune(RetuneAction::Check(index)))));
        to.on_check_finished(self.does(|| Action::Retune(RetuneAction::CheckDone)));
        to.on_given_up(self.does(|| Action::Retune(RetuneAction::GiveUp)));
        to.on_capo_placed(self.does(|| Action::Retune(RetuneAction::CapoIsBack)));
        to.on_capo_left(self.does(|| Action::Retune(RetuneAction::CapoStaysOff)));
        to.on_offer_taken(self.sends(|index| at(index).map(|index| Action::Retune(RetuneAction::TakeRemedy(index)))));
        to.on_noted_told(self.does(|| Action::Retune(RetuneAction::StringsAre(StringsTold::Noted))));
        to.on_unknown_told(self.does(|| Action::Retune(RetuneAction::StringsAre(StringsTold::Unknown))));
        to.on_set_told(
            self.sends(|index| {
                at(index).map(|index| Action::Retune(RetuneAction::StringsAre(StringsTold::Set(index))))
            }),
        );
        let said = |course: &SharedString, place: i32| {
            let (number, place) = course.parse().ok().zip(at(place))?;
            Some(Action::Retune(RetuneAction::SayString(number, place)))
        };
        to.on_string_said(self.sends_two(move |course: SharedString, place| said(&course, place)));
        to.on_set_put_on(self.does(|| Action::Retune(RetuneAction::SetIsOn)));
        to.on_risk_accepted(self.does(|| Action::Retune(RetuneAction::TakeRisk)));
        to.on_shapes_wanted(self.does(|| Action::Retune(RetuneAction::ToShapes)));
        to.on_tuning_wanted(self.does(|| Action::Retune(RetuneAction::ToTunings)));
    }

    fn attach_shapes(self: &Rc<Self>) {
        let to = self.window().global::<ui::ShapesState<'_>>();
        to.on_chord_tapped(self.sends(|index| at(index).map(|index| Action::Shapes(ShapesAction::Chord(index)))));
        to.on_next(self.does(|| Action::Shapes(ShapesAction::Next)));
        to.on_previous(self.does(|| Action::Shapes(ShapesAction::Previous)));
        to.on_play_chosen(self.sends(|play| Some(Action::Shapes(ShapesAction::Style(style_of(play))))));
        to.on_labels_chosen(self.sends(|labels| Some(Action::Shapes(ShapesAction::Labels(labels_of(labels))))));
        to.on_chord_set_chosen(self.sends(|set| Some(Action::Shapes(ShapesAction::Set(chord_set_of(set))))));
        to.on_nearest_tapped(self.sends(|_| Some(Action::Shapes(ShapesAction::Nearest))));
        to.on_shown_large(self.does(|| Action::Shapes(ShapesAction::Large)));
        to.on_favourite_tapped(self.does(|| Action::Shapes(ShapesAction::Favourite)));
        to.on_filters_cleared(self.does(|| Action::Shapes(ShapesAction::ClearFilters)));
        to.on_key_tapped(self.does(|| Action::Shapes(ShapesAction::PictureKey)));
        let to = self.window().global::<ui::ShowState<'_>>();
        to.on_next(self.does(|| Action::Shapes(ShapesAction::Next)));
        to.on_previous(self.does(|| Action::Shapes(ShapesAction::Previous)));
        to.on_closed(self.does(|| Action::Back));
        to.on_favourite_tapped(self.does(|| Action::Shapes(ShapesAction::Favourite)));
        let to = self.window().global::<ui::OverviewState<'_>>();
        to.on_shape_tapped(self.sends(|index| at(index).map(|index| Action::Shapes(ShapesAction::LargeAt(index)))));
        let to = self.window().global::<ui::FiltersState<'_>>();
        to.on_open_only_tapped(self.does(|| Action::Shapes(ShapesAction::OpenOnly)));
        to.on_movable_only_tapped(self.does(|| Action::Shapes(ShapesAction::MovableOnly)));
        to.on_no_barre_tapped(self.does(|| Action::Shapes(ShapesAction::NoBarre)));
        to.on_root_in_bass_tapped(self.does(|| Action::Shapes(ShapesAction::RootInBass)));
        to.on_thumb_may_fret_tapped(self.does(|| Action::Shapes(ShapesAction::ThumbMayFret)));
        to.on_raised(self.does(|| Action::Shapes(ShapesAction::UpToBy(1))));
        to.on_lowered(self.does(|| Action::Shapes(ShapesAction::UpToBy(-1))));
        to.on_cleared(self.does(|| Action::Shapes(ShapesAction::ClearFilters)));
    }

    fn attach_pickers(self: &Rc<Self>) {
        let to = self.window().global::<ui::PickState<'_>>();
        to.on_key_root_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::KeyRoot(index)))));
        to.on_mode_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::KeyMode(index)))));
        to.on_root_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::Root(index)))));
        to.on_quality_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::Quality(index)))));
        to.on_bass_tapped(self.sends(|index| at(index).map(|index| Action::Pick(PickAction::Bass(index)))));
        to.on_chord_typed(self.types(|text| Action::Pick(PickAction::Typed(text))));
        to.on_key_taken(self.does(|| Action::Pick(PickAction::KeyTaken)));
        to.on_chord_taken(self.does(|| Action::Pick(PickAction::ChordTaken)));
        let to = self.window().global::<ui::KeyPlanState<'_>>();
        to.on_progression_typed(self.types(|text| Action::KeyPlan(KeyPlanAction::Typed(text))));
        to.on_cell_tapped(self.sends(|index| at(index).map(|index| Action::KeyPlan(KeyPlanAction::Cell(index)))));
    }

    fn attach_neck(self: &Rc<Self>) {
        let to = self.window().global::<ui::NeckState<'_>>();
        let app = Rc::downgrade(self);
        to.on_cell_tapped(move |fret, course| {
            let places = u8::try_from(fret).ok().zip(at(course));
            if let Some((app, (row, place))) = app.upgrade().zip(places) {
                let (fret, course) = app.with(|state| {
                    let order = view::neck_order(state, state.instrument().courses().len());
                    (fret_in_row(state, row), order.get(place).copied().unwrap_or(place))
                });
                app.act_soon(Action::Neck(NeckAction::Cell { fret, course }));
            }
        });
        to.on_shows_chosen(self.sends(|shows| {
            Some(Action::Neck(NeckAction::Shows(match shows {
                ui::NeckShows::Key => NeckShows::Key,
                ui::NeckShows::Chord => NeckShows::Chord,
                ui::NeckShows::Nothing => NeckShows::Nothing,
            })))
        }));
        to.on_labels_chosen(self.sends(|labels| Some(Action::Neck(NeckAction::Labels(labels_of(labels))))));
        to.on_cleared(self.does(|| Action::Neck(NeckAction::Clear)));
        to.on_shapes_wanted(self.does(|| Action::Neck(NeckAction::ToShapes)));
    }

    fn attach_one_string(self: &Rc<Self>) {
        let to = self.window().global::<ui::OneStringState<'_>>();
        to.on_gauge_typed(self.types(|text| Action::StringEntry(StringEntryAction::Gauge(text))));
        to.on_wound_chosen(self.sends(|is_wound| Some(Action::StringEntry(StringEntryAction::Wound(is_wound)))));
        to.on_material_chosen(
            self.sends(|index| at(index).map(|index| Action::StringEntry(StringEntryAction::Made(index)))),
        );
        to.on_new_chosen(self.sends(|is_new| Some(Action::StringEntry(StringEntryAction::New(is_new)))));
        to.on_taken(self.does(|| Action::StringEntry(StringEntryAction::Take)));
        to.on_unknown(self.does(|| Action::StringEntry(StringEntryAction::Unknown)));
    }

    fn attach_own_tuning(self: &Rc<Self>) {
        let to = self.window().global::<ui::OwnTuningState<'_>>();
        to.on_raised(self.sends(|index| at(index).map(|index| Action::OwnTuning(OwnTuningAction::Move(index, 1)))));
        to.on_lowered(self.sends(|index| at(index).map(|index| Action::OwnTuning(OwnTuningAction::Move(index, -1)))));
        to.on_notes_typed(self.types(|text| Action::OwnTuning(OwnTuningAction::Notes(text))));
        to.on_name_typed(self.types(|text| Action::OwnTuning(OwnTuningAction::Name(text))));
        to.on_other_tapped(self.does(|| Action::OwnTuning(OwnTuningAction::OtherReading)));
        to.on_near_tapped(self.sends(|id: SharedString| Some(Action::OwnTuning(OwnTuningAction::Like(id.into())))));
        to.on_saved(self.does(|| Action::OwnTuning(OwnTuningAction::Save)));
        to.on_deleted(self.does(|| Action::OwnTuning(OwnTuningAction::Delete)));
        to.on_cancelled(self.does(|| Action::OwnTuning(OwnTuningAction::Cancel)));
    }

    fn attach_choices(self: &Rc<Self>) {
        let to = self.window().global::<ui::InstrumentState<'_>>();
        let text = |make: fn(String) -> InstrumentAction| {
            move |text: SharedString| Some(Action::Instrument(make(text.into())))
        };
        to.on_searched(self.types(|text| Action::Instrument(InstrumentAction::Searched(text))));
        to.on_instrument_tapped(self.sends(text(InstrumentAction::Instrument)));
        to.on_string_set_tapped(self.sends(text(InstrumentAction::StringSet)));
        to.on_string_tapped(self.sends_two(|course: SharedString, place| {
            let (number, place) = course.parse().ok().zip(at(place))?;
            Some(Action::Instrument(InstrumentAction::Describe(number, place)))
        }));
        to.on_scale_typed(self.types(|text| Action::Instrument(InstrumentAction::ScaleTyped(text))));
        to.on_bridge_chosen(self.sends(|bridge| {
            Some(Action::Instrument(InstrumentAction::Bridge(match bridge {
                ui::BridgeKind::Fixed => Bridge::Fixed,
                ui::BridgeKind::Floating => Bridge::Floating,
            })))
        }));
        to.on_capo_raised(self.does(|| Action::Instrument(InstrumentAction::CapoBy(1))));
        to.on_capo_lowered(self.does(|| Action::Instrument(InstrumentAction::CapoBy(-1))));
        self.attach_one_string();
        let to = self.window().global::<ui::SettingsState<'_>>();
        to.on_theme_chosen(self.sends(|theme| Some(Action::Settings(SettingsAction::Theme(theme_of(theme))))));
        to.on_naming_chosen(self.sends(|naming| {
            Some(Action::Settings(SettingsAction::Naming(match naming {
                ui::NoteNaming::English => Naming::English,
                ui::NoteNaming::German => Naming::German,
                ui::NoteNaming::Solfege => Naming::Solfege,
            })))
        }));
        to.on_accidentals_chosen(self.sends(|choice| {
            Some(Action::Settings(SettingsAction::Spelling(match choice {
                ui::Accidentals::ByKey => SpellingChoice::Customary,
                ui::Accidentals::Sharps => SpellingChoice::Sharps,
                ui::Accidentals::Flats => SpellingChoice::Flats,
            })))
        }));
        to.on_temperament_chosen(self.sends(|choice| {
            Some(Action::Settings(SettingsAction::Temperament(match choice {
                ui::Temperament::Equal => Temperament::Equal,
                ui::Temperament::SweetOpenChord => Temperament::OpenChord,
                ui::Temperament::SweetShapes => Temperament::KeyShapes,
            })))
        }));
        to.on_left_handed_tapped(self.does(|| Action::Settings(SettingsAction::LeftHanded)));
        to.on_diagrams_on_side_tapped(self.does(|| Action::Settings(SettingsAction::OnSide)));
        to.on_reduced_motion_tapped(self.does(|| Action::Settings(SettingsAction::ReducedMotion)));
        to.on_stay_awake_tapped(self.does(|| Action::Settings(SettingsAction::StayAwake)));
        to.on_reference_raised(self.does(|| Action::Settings(SettingsAction::ReferenceBy(1))));
        to.on_reference_lowered(self.does(|| Action::Settings(SettingsAction::ReferenceBy(-1))));
        to.on_tolerance_raised(self.does(|| Action::Settings(SettingsAction::ToleranceBy(1))));
        to.on_tolerance_lowered(self.does(|| Action::Settings(SettingsAction::ToleranceBy(-1))));
        to.on_language_tapped(self.sends(|index| {
            let index = at(index)?;
            let chosen = index.checked_sub(1).and_then(|index| Language::ALL.get(index));
            Some(Action::Settings(SettingsAction::Language(chosen.map(|language| language.code().to_owned()))))
        }));
    }
}

/// Reads an index that Slint counts with a sign.
pub(super) fn at(index: i32) -> Option<usize> {
    usize::try_from(index).ok()
}
