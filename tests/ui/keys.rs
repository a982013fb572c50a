//! Every screen by keys alone.
//!
//! Source: WCAG 2.2, 2.1.1 (everything by keyboard), 2.1.2 (no trap), 2.4.3 (an order that keeps the meaning), 2.4.7 (where
//! the keys are is seen), 2.4.11 (and is not covered), 2.4.13 (the mark is 2 dp wide and 3:1 against what was there
//! before), 1.4.11 (3:1 against what it stands beside). Arrows in lists and choices, Home and End are what the ARIA
//! authoring practices describe for lists.

use std::collections::BTreeSet;

use i_slint_core::item_tree::ItemRc;
use pegwise::app::{Action, App, Notice, Screen, SetListAction, SongsAction, State, Tab, TuningsAction};
use pegwise::store::Theme;
use slint::platform::{Key, WindowEvent, WindowEventDispatchResult};
use slint::{ComponentHandle, SharedString};

use crate::bench_window::{act, find, open, settle};
use crate::contrast::{Rgb, contrast, whole};
use crate::layout::goes_back;
use crate::sights::{Sight, sights};
use crate::tree::{Piece, Place, message, pieces, scroll_to, with_the_keys};

fn send(app: &App, text: &SharedString) -> WindowEventDispatchResult {
    let window = app.window().window();
    let pressed = window.dispatch_event_with_result(WindowEvent::KeyPressed { text: text.clone() }).unwrap();
    let _ = window.dispatch_event_with_result(WindowEvent::KeyReleased { text: text.clone() });
    // The tap, what it does, and where the keys go then, come one after the other.
    for _ in 0..3 {
        settle();
    }
    pressed
}

fn press(app: &App, key: Key) -> WindowEventDispatchResult {
    send(app, &key.into())
}

/// On to the next control.
pub(crate) fn tab(app: &App) {
    press(app, Key::Tab);
}

fn write(app: &App, text: &str) {
    for letter in text.chars() {
        let _ = send(app, &letter.to_string().into());
    }
}

/// What a control is told as.
type Told = (String, String);

fn told(piece: &Piece) -> Told {
    let control = piece.control.as_ref().unwrap();
    (format!("{:?}", control.role), control.label.clone())
}

/// Everything that can be used: on the page, and in its lists from the first row to the last, scrolled as a finger would.
#[derive(Default)]
struct Controls {
    on_page: BTreeSet<Told>,
    in_lists: BTreeSet<Told>,
}

impl Controls {
    fn of(app: &App) -> Self {
        let mut found = Self::default();
        let lists = found.take(app);
        for list in lists {
            let page = Place::of(&list).height();
            let mut from_top = 0.0;
            while scroll_to(app, &list, from_top) {
                found.take(app);
                from_top += page / 2.0;
            }
            found.take(app);
            scroll_to(app, &list, 0.0);
        }
        found
    }

    /// Takes in what is there now. Returns its lists.
    fn take(&mut self, app: &App) -> Vec<ItemRc> {
        let mut lists = Vec::new();
        for piece in pieces(app).into_iter().filter(|piece| piece.control.as_ref().is_some_and(|one| one.enabled)) {
            match &piece.list {
                Some(list) => {
                    self.in_lists.insert(told(&piece));
                    if !lists.contains(list) {
                        lists.push(list.clone());
                    }
                }
                None => {
                    self.on_page.insert(told(&piece));
                }
            }
        }
        lists
    }
}

/// What was found on one walk.
#[derive(Default)]
struct Walk {
    reached: BTreeSet<Told>,
    /// Where Tab stopped, in turn.
    stops: Vec<Piece>,
    faults: Vec<String>,
}

impl Walk {
    /// Takes in what has the keys: it is in sight, all of it or as much as the page shows at once, and nothing covers it.
    fn take(&mut self, piece: &Piece) {
        let (width, height) =
            piece.scroll.as_ref().map_or((f32::MAX, f32::MAX), |(_, page)| (page.width(), page.height()));
        let wanted = (piece.place.width().min(width), piece.place.height().min(height));
        if piece.seen.width() < wanted.0 - 1.0 || piece.seen.height() < wanted.1 - 1.0 {
            self.faults.push(format!("{} has the keys and is not in sight: {:?}", piece.name(), piece.seen));
        }
        self.reached.insert(told(piece));
    }
}

/// By Tab from the first control round to it again, and to the right through every list on the way where `lists_too`.
fn walk(app: &App, lists_too: bool) -> Walk {
    let mut walk = Walk::default();
    let mut lists = Vec::new();
    press(app, Key::Tab);
    for _ in 0..300 {
        let Some(now) = with_the_keys(app) else {
            walk.faults.push(format!("nothing has the keys after {:?}", walk.stops.last().map(Piece::name)));
            return walk;
        };
        if walk.stops.first().is_some_and(|first| first.item == now.item) {
            return walk;
        }
        walk.take(&now);
        walk.stops.push(now.clone());
        if let Some(list) = now.list.clone().filter(|list| lists_too && !lists.contains(list)) {
            lists.push(list);
            press(app, Key::Home);
            let mut before = None;
            while let Some(now) = with_the_keys(app).filter(|now| before.as_ref() != Some(&now.item)) {
                walk.take(&now);
                before = Some(now.item);
                press(app, Key::RightArrow);
            }
            press(app, Key::Home);
        }
        press(app, Key::Tab);
    }
    walk.faults.push("Tab does not come round".to_owned());
    walk
}

/// `walked` holds what stood in the lists that were walked to their ends before: the same list is so once.
fn faults_of(sight: &Sight, width: f32, height: f32, walked: &mut Vec<BTreeSet<Told>>) -> Vec<String> {
    let app = sight.open("en", width, height, 14.0);
    settle();
    let wanted = Controls::of(&app);
    let before = pieces(&app);
    let is_new = !walked.contains(&wanted.in_lists);
    let walk = walk(&app, is_new);
    let mut faults = walk.faults;
    let in_lists = wanted.in_lists.difference(&walk.reached).filter(|_| is_new);
    for (role, label) in wanted.on_page.difference(&walk.reached).chain(in_lists) {
        faults.push(format!("{role} \"{label}\" is not reached"));
    }
    let has_list = wanted.in_lists.is_empty() || wanted.in_lists.iter().any(|told| walk.reached.contains(told));
    if !has_list {
        faults.push("no list is reached".to_owned());
    }
    let place = |stop: &Piece| before.iter().find(|piece| piece.item == stop.item && !piece.is_told).cloned();
    for pair in walk.stops.windows(2) {
        if let [Some(one), Some(other)] = [&pair[0], &pair[1]].map(place)
            && goes_back(&one, &other)
        {
            faults.push(format!("{} comes before {}", one.name(), other.name()));
        }
    }
    if is_new && faults.is_empty() {
        walked.push(wanted.in_lists);
    }
    faults
}

fn hold(width: f32, height: f32, is_wanted: impl Fn(&Sight) -> bool) {
    let mut report = String::new();
    let mut walked = Vec::new();
    for sight in sights().iter().filter(|sight| is_wanted(sight)) {
        for fault in faults_of(sight, width, height, &mut walked) {
            report.push_str(&format!("  {}: {fault}\n", sight.name));
        }
    }
    assert!(report.is_empty(), "{width} × {height}:\n{report}");
}

/// 2.1.1, 2.1.2, 2.4.3, 2.4.7, 2.4.11: Tab goes through every control of every screen as it is read and comes round, a
/// list is walked from its first row to its last, and each is in sight when it has the keys.
#[test]
fn every_control_of_every_screen_is_reached_by_keys_alone() {
    hold(360.0, 640.0, |_| true);
}

/// The same where two panes stand side by side, and where the bar stands at the side.
#[test]
fn every_control_is_reached_by_keys_on_wide_and_on_low_windows() {
    hold(800.0, 1280.0, |sight| !sight.name.starts_with("drawn"));
    hold(915.0, 412.0, |sight| !sight.name.starts_with("drawn"));
}

/// Tab back leads through the same stops the other way round.
#[test]
fn tab_goes_back_the_way_it_came() {
    for sight in sights().iter().filter(|sight| !sight.name.starts_with("drawn")) {
        let app = sight.open("en", 360.0, 640.0, 14.0);
        settle();
        let mut there = Vec::new();
        // What is worked out in the background comes meanwhile.
        for _ in 0..6 {
            press(&app, Key::Tab);
        }
        for _ in 0..6 {
            press(&app, Key::Tab);
            there.push(with_the_keys(&app).map(|stop| told(&stop)));
        }
        for before in there.iter().rev().skip(1) {
            press(&app, Key::Backtab);
            assert_eq!(with_the_keys(&app).map(|stop| told(&stop)), *before, "{}: {there:?}", sight.name);
        }
    }
}

/// Arrows go from row to row and keep to one column, Home and End lead to the ends, page keys a page further; the list
/// follows. Enter opens what has the keys.
#[test]
fn a_list_is_whole_for_the_keys_and_follows_them() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tunings(TuningsAction::View(pegwise::app::TuningsView::Nearest))]);
    let now = || with_the_keys(&app).expect("something has the keys");
    for _ in 0..30 {
        press(&app, Key::Tab);
        if now().list.is_some() {
            break;
        }
    }
    let first = now();
    assert!(first.list.is_some(), "Tab leads into the list");
    press(&app, Key::Tab);
    let beside = now();
    assert!(beside.control.as_ref().unwrap().label.starts_with("See the shapes of "), "{}", beside.name());
    for _ in 0..12 {
        press(&app, Key::DownArrow);
        assert!(now().control.unwrap().label.starts_with("See the shapes of "), "the column stays");
    }
    press(&app, Key::End);
    let last = now();
    press(&app, Key::DownArrow);
    assert_eq!(now().item, last.item, "there is no row after the last");
    press(&app, Key::Home);
    assert_eq!(now().control.unwrap().label, first.control.unwrap().label);
    press(&app, Key::PageDown);
    let page = now();
    assert_ne!(page.control.as_ref().unwrap().label, last.control.unwrap().label);
    press(&app, Key::UpArrow);
    assert_ne!(now().item, page.item);
    // Not one that a capo brings about.
    press(&app, Key::End);
    press(&app, Key::Return);
    assert_eq!(app.with(State::screen), Screen::Retune, "Enter opens the row");
}

/// A row that a finger scrolls away while it has the keys does not take them along: the phone's Back is still heard.
#[test]
fn back_is_heard_when_what_has_the_keys_is_scrolled_away() {
    let app = open(360.0, 640.0);
    act(
        &app,
        [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice, Action::Tab(Tab::Tunings)],
    );
    act(&app, [Action::Tab(Tab::Songs)]);
    let list = (0..30)
        .find_map(|_| {
            press(&app, Key::Tab);
            with_the_keys(&app).and_then(|now| now.list)
        })
        .expect("Tab leads into the list");
    scroll_to(&app, &list, 5000.0);
    settle();
    assert_eq!(press(&app, Key::Escape), WindowEventDispatchResult::Accepted);
    assert_eq!(app.with(State::screen), Screen::Tunings);
}

/// Arrows move among choices and in the bar.
#[test]
fn arrows_move_among_choices() {
    let app = open(360.0, 640.0);
    let label = || with_the_keys(&app).map(|now| now.control.unwrap().label).unwrap_or_default();
    for _ in 0..20 {
        press(&app, Key::Tab);
        if label() == "Recent" {
            break;
        }
    }
    for expected in ["Nearest", "Kinds", "Yours", "Yours"] {
        press(&app, Key::RightArrow);
        assert_eq!(label(), expected);
    }
    press(&app, Key::LeftArrow);
    assert_eq!(label(), "Kinds");
    press(&app, Key::Space);
    assert_eq!(app.with(|state| state.tunings.view), pegwise::app::TuningsView::Kinds);
    assert_eq!(label(), "Kinds", "what was chosen has the keys still");
}

/// A key leads to the field that searches, and Enter opens the first found.
#[test]
fn a_key_leads_to_the_search_and_enter_opens_the_first_found() {
    let app = open(360.0, 640.0);
    let label = |app: &App| with_the_keys(app).map(|now| now.control.unwrap().label).unwrap_or_default();
    write(&app, "/");
    assert_eq!(label(&app), "Search tunings");
    write(&app, "dadgad");
    press(&app, Key::Return);
    let target = app.with(|state| state.target_name());
    assert_eq!((app.with(State::screen), target.as_deref()), (Screen::Retune, Some("DADGAD")));

    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    let title = app.with(|state| state.library.songs()[3].title.clone());
    press(&app, Key::Tab);
    let control: SharedString = Key::Control.into();
    let window = app.window().window();
    window.dispatch_event_with_result(WindowEvent::KeyPressed { text: control.clone() }).unwrap();
    write(&app, "f");
    window.dispatch_event_with_result(WindowEvent::KeyReleased { text: control }).unwrap();
    assert_eq!(label(&app), "Search songs");
    write(&app, &title);
    press(&app, Key::Return);
    assert_eq!(app.with(State::screen), Screen::Song);
    let opened =
        app.with(|state| state.song.id.and_then(|id| state.library.find_song(id)).map(|song| song.title.clone()));
    assert_eq!(opened, Some(title));

    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::Instrument)]);
    for _ in 0..20 {
        press(&app, Key::Tab);
        if label(&app).starts_with("Instrument: ") {
            break;
        }
    }
    press(&app, Key::Return);
    write(&app, "/");
    assert_eq!(label(&app), "Search instruments");
    write(&app, "ukulele");
    press(&app, Key::Return);
    assert!(app.with(|state| state.instrument().id().contains("ukulele")), "the first found is taken");

    // Where nothing is found, the field keeps the keys; in a field that does not search the key is a letter.
    let app = open(360.0, 640.0);
    write(&app, "/");
    write(&app, "qqqq");
    press(&app, Key::Return);
    assert_eq!((label(&app).as_str(), app.with(State::screen)), ("Search tunings", Screen::Tunings));
    write(&app, "/");
    assert_eq!(app.with(|state| state.tunings.search.clone()), "qqqq/");
}

/// Whatever is pressed on a screen, something has the keys after it, and it is in sight.
#[test]
fn the_keys_are_never_lost() {
    let at = ["tunings", "retune", "check", "shapes", "more", "settings", "songs", "set list", "filters", "own tuning"];
    let mut pressed = 0;
    for sight in sights().iter().filter(|sight| at.contains(&sight.name.as_str())) {
        for stop in 1..40 {
            let app = sight.open("en", 360.0, 640.0, 14.0);
            settle();
            for _ in 0..stop {
                press(&app, Key::Tab);
            }
            let before = with_the_keys(&app).unwrap();
            // Round again: all were pressed.
            let control = before.control.clone().unwrap();
            if stop > 1 && find(&app, &control.label).is_none() {
                break;
            }
            press(&app, Key::Return);
            settle();
            pressed += 1;
            if format!("{:?}", control.role) == "TextInput" {
                continue;
            }
            let after = with_the_keys(&app);
            let after = after.unwrap_or_else(|| panic!("{}: lost after {}", sight.name, before.name()));
            assert!(
                after.seen.width() > 8.0 && after.seen.height() > 8.0,
                "{}: {} is out of sight",
                sight.name,
                after.name()
            );
        }
    }
    assert!(pressed > 100, "{pressed}");
}

/// After something is taken back, and after a message is put away, something near has the keys; Back leads to where one
/// came from.
#[test]
fn the_keys_go_to_a_neighbour_when_a_message_goes() {
    for what in ["Undo", "Close this message"] {
        let app = open(360.0, 640.0);
        act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo)]);
        settle();
        let label = || with_the_keys(&app).map(|now| now.control.unwrap().label);
        for _ in 0..4 {
            press(&app, Key::Tab);
            if label().as_deref() == Some(what) {
                break;
            }
        }
        assert_eq!(label().as_deref(), Some(what), "the message comes first");
        press(&app, Key::Return);
        assert!(message(&app).is_none());
        assert!(label().is_some(), "after {what} nothing has the keys");
    }
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::More)]);
    let label = || with_the_keys(&app).map(|now| now.control.unwrap().label).unwrap_or_default();
    for _ in 0..20 {
        press(&app, Key::Tab);
        if label() == "Settings" {
            break;
        }
    }
    press(&app, Key::Return);
    let at_head = pieces(&app).iter().find_map(|piece| piece.control.as_ref()).unwrap().label.clone();
    assert_eq!((app.with(State::screen), label()), (Screen::Settings, at_head));
    press(&app, Key::Escape);
    assert_eq!((app.with(State::screen), label().as_str()), (Screen::More, "Settings"), "back where it was left");
}

/// 2.4.11: the message moves off what has the keys.
#[test]
fn the_message_does_not_cover_what_has_the_keys() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo)]);
    settle();
    for _ in 0..40 {
        press(&app, Key::Tab);
        let (now, lies) = (with_the_keys(&app).unwrap(), message(&app).unwrap());
        assert!(now.is_told || !now.place.meets(lies), "{} under {lies:?}", now.name());
    }
    // It comes while something has the keys that stands where it would lie.
    let app = open(360.0, 640.0);
    press(&app, Key::Tab);
    let first = with_the_keys(&app).unwrap();
    app.act(Action::Tunings(TuningsAction::Capo(pegwise::instrument::Fret::new(60))));
    settle();
    let lies = message(&app).expect("there is no fret 60");
    assert!(!first.place.meets(lies), "{} under {lies:?}", first.name());
    assert!(app.with(|state| matches!(state.notice, Some(Notice::CapoBeyondFrets { .. }))));
}

/// 2.4.7, 2.4.13, 1.4.11: on every kind of control, in every theme, a stroke of 2 dp appears where the keys are that stands
/// out 3:1 from what was there before and from what lies on both its sides.
#[test]
fn where_the_keys_are_is_seen_on_every_kind_of_control() {
    let at = [
        "tunings",
        "retune",
        "check",
        "shapes",
        "more",
        "settings",
        "songs",
        "set list",
        "filters",
        "own tuning",
        "song editor",
    ];
    for theme in [Theme::Light, Theme::Dark, Theme::Sunlight] {
        let mut kinds = BTreeSet::new();
        for mut sight in sights().into_iter().filter(|sight| at.contains(&sight.name.as_str())) {
            sight.library.settings.theme = theme;
            let app = sight.open("en", 360.0, 640.0, 14.0);
            settle();
            let mut before = None;
            for _ in 0..24 {
                press(&app, Key::Tab);
                let now = with_the_keys(&app).unwrap();
                let with_it = draw(&app);
                let kind = (now.kind.clone(), now.control.as_ref().unwrap().role as u8);
                // The next stop shows the same place without it, where nothing was scrolled meanwhile.
                press(&app, Key::Tab);
                let later = pieces(&app).into_iter().find(|piece| piece.item == now.item);
                if later.is_some_and(|later| later.place == now.place) && kinds.insert(kind) {
                    let without = draw(&app);
                    let sides = marked_sides(&now, &with_it, &without);
                    assert!(sides >= 2, "{theme:?}, {}: {} is marked on {sides} sides", sight.name, now.name());
                }
                press(&app, Key::Backtab);
                if before == Some(now.item.clone()) {
                    break;
                }
                before = Some(now.item);
            }
        }
        assert!(kinds.len() >= 8, "{theme:?}: only {kinds:?}");
    }
}

type Picture = slint::SharedPixelBuffer<slint::Rgba8Pixel>;

fn draw(app: &App) -> Picture {
    app.window().window().take_snapshot().unwrap()
}

/// On how many of its four sides a control shows such a stroke, looked for from 10 dp outside it to 10 dp inside.
fn marked_sides(stop: &Piece, with_it: &Picture, without: &Picture) -> usize {
    let place = stop.seen;
    let (middle_x, middle_y) = (place.left + place.width() / 2.0, place.top + place.height() / 2.0);
    let across = |edge: f32| (-10_i8..=10).map(move |by| (edge + f32::from(by) + 0.5, middle_y)).collect::<Vec<_>>();
    let down = |edge: f32| (-10_i8..=10).map(move |by| (middle_x, edge + f32::from(by) + 0.5)).collect::<Vec<_>>();
    let sides = [across(place.left), across(place.right), down(place.top), down(place.bottom)];
    let color = |picture: &Picture, (x, y): (f32, f32)| -> Option<Rgb> {
        let inside = x >= 0.0 && y >= 0.0 && whole(x.floor()) < picture.width() && whole(y.floor()) < picture.height();
        let at = usize::try_from(whole(y.floor()) * picture.width() + whole(x.floor())).unwrap();
        inside.then(|| picture.as_slice()[at]).map(|pixel| [pixel.r, pixel.g, pixel.b])
    };
    let is_marked = |points: &Vec<(f32, f32)>| {
        let seen: Vec<(Rgb, Rgb)> =
            points.iter().filter_map(|&point| color(with_it, point).zip(color(without, point))).collect();
        // Strokes of one colour, 2 dp at least, with something on both sides.
        (1..seen.len()).any(|from| {
            let stroke = seen[from].0;
            let until = (from..seen.len()).find(|&at| seen[at].0 != stroke).unwrap_or(seen.len());
            let (Some(other), true) = (seen.get(until), until - from >= 2) else { return false };
            seen[from..until].iter().all(|(now, before)| contrast(*now, *before) >= 3.0)
                && contrast(stroke, seen[from - 1].0) >= 3.0
                && contrast(stroke, other.0) >= 3.0
        })
    };
    sides.iter().filter(|points| is_marked(points)).count()
}

/// A page without a control to go to is scrolled by keys.
#[test]
fn a_page_to_read_is_scrolled_by_keys() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::More), Action::Open(Screen::Licences)]);
    settle();
    let top = || {
        pieces(&app)
            .iter()
            .find_map(|piece| piece.words.clone().filter(|_| piece.list.is_some()))
            .map(|words| words.text)
    };
    let before = top();
    press(&app, Key::PageDown);
    press(&app, Key::PageDown);
    assert_ne!(top(), before, "the page has moved");
    press(&app, Key::Home);
    assert_eq!(top(), before);
}

/// In a set list, whose rows are all made anew when one is moved, the keys stay where they were pressed.
#[test]
fn moving_a_song_leaves_the_keys_where_they_are() {
    let app = open(360.0, 640.0);
    act(&app, [Action::Tab(Tab::Songs), Action::Songs(SongsAction::Demo), Action::CloseNotice]);
    let list = app.with(|state| state.library.set_lists()[0].id);
    act(&app, [Action::Songs(SongsAction::OpenList(list)), Action::SetList(SetListAction::Edit)]);
    settle();
    let label = || with_the_keys(&app).map(|now| now.control.unwrap().label).unwrap_or_default();
    for _ in 0..60 {
        press(&app, Key::Tab);
        if label().starts_with("Move") && label().ends_with("down") {
            break;
        }
    }
    let before = label();
    assert!(before.ends_with("down"), "{before}");
    press(&app, Key::Return);
    assert_eq!(label(), before);
}
