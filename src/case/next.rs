//! What to do next, as a value without wording.

use super::Case;
use super::asked::TestPlan;
use super::comes::{Comes, Logged, Watch};
use super::facts::{Draw, Found, Question, Shown};
use super::verify::Repair;
use super::weights::Odds;
use crate::feeds::{PartId, PlaceId};
use crate::interval::Interval;
use crate::judgement::{Judgement, Standing};
use crate::ledger::{End, Line, Out};
use crate::measurement::Method;
use crate::quantity::Milliamps;
use crate::suspects::{Cause, Moved, Subject};

/// Where a case stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum State {
    Prepare,
    Baseline,
    Wait,
    Measure,
    Confirm,
    Confirmed,
    Located,
    Gone,
    WithinLimit,
    Verify,
    Contradiction,
    Undecidable,
}

/// Why this is what to do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reason {
    /// Before anything is read.
    Prepare,
    /// The vehicle has to fall asleep.
    Settle,
    /// The settled total comes first.
    FirstDraw,
    /// The first draw cannot be believed yet.
    Doubted,
    /// The draw straddles the limit, or is too coarse for what is sought.
    Finer,
    /// What fell is plain; whether what is left keeps the limit is not.
    WhatIsLeft,
    /// It parts the suspects best for its minutes; how many suspects are left, in which part.
    Parts(usize, PartId),
    /// Several come out at once: one settle tells of all of them; how many.
    Together(usize),
    /// It fell with more out: some of that goes back in, to see which of it the drain needs.
    PartBack,
    /// One suspect is left, or proving it is quicker than parting more.
    Prove,
    /// The draw with something out.
    DrawWithout,
    /// The draw fell by itself: whether it stands still now.
    StillFalling,
    /// Before a proof: whether the draw is still what it was.
    TotalFirst,
    /// The draw fell to what it was but for a power of ten: whether that is so.
    OnceMore,
    /// Hardly anything is left, by one reading: a slip of the unit, or jaws that are not shut, would look like a
    /// fall too.
    HardlyLeft,
    /// It fell to next to nothing, which a bridge lead that was left on shows too: whether that is so.
    StillNothing,
    /// Far less was shown than before, with nothing done: whether the bridge was left on.
    BridgeOff,
    /// The vehicle was awake since the draw was read: whether that was read awake.
    AfterAwake,
    /// By what was read or seen at this part, which is out, the draw had to fall, and it did not: it is read once
    /// more.
    ShouldHaveFallen(PartId),
    /// More was read in this part than fell without it: it is read again.
    CarriesElsewhere(PartId),
    /// Less was read in the first than below it, in the second, with more out: the first is read again.
    LessAbove(PartId, PartId),
    /// Something was let in, which broke the supply: whether the drain is still there.
    StillThere,
    /// Other things go back in before the proof.
    BackFirst,
    /// It fell: whether it returns.
    Returns,
    /// Less flows with something out, which may be because what comes and goes is away: it is left out and logged,
    /// for so many minutes.
    LogWithout(f64),
    /// Something went back in on a vehicle whose drain comes and goes: whether it is there now.
    IsItThere,
    /// It did not come with something out: back in it is seen to come again, by the draw or by a log of so many
    /// minutes.
    SeeItCome(f64),
    /// It is proven and comes out again.
    StaysOut,
    /// A place that wakes the vehicle is opened before the settle.
    OpenFirst(PlaceId),
    /// A zero that a verdict rests on is checked.
    LiveThere,
    /// It fell with this out, where nothing was read: that is read again before something dearer is done.
    FellThough(PartId),
    /// Nobody left could be the drain alone: a zero may be wrong, and they are checked.
    NobodyAlone,
    /// More flows into this part than two drains behind it could take by the zeros read there: they are checked.
    GoesNowhere(PartId),
    /// More was read in this part than what was read below it adds up to: the zeros there, the part itself, and
    /// what else was read there once, are checked.
    DoesNotAddUp(PartId),
    /// This reading alone cleared much, and what comes next elsewhere is dearer than to take it again.
    MuchHangs(PartId),
    /// A zero that a verdict rests on is read again.
    ZeroAgain,
    /// Volts behind this contact tell whether it is closed, before anything comes out for it.
    ContactFirst(PartId),
    /// An input that may hold it awake would fall silent with it.
    InputFirst,
    /// What hangs in this connector may keep the network awake: it comes before what hangs on that.
    PluggedIn(PartId),
    /// Whether its coil holds this relay is felt before it is pulled with it.
    FeelFirst(PartId),
    /// Whether it draws can be seen, before it is unplugged.
    LookFirst,
    /// The drop across this fuse tells, before it is pulled.
    ReadFirst(PartId),
    /// The drop across this fuse may tell, before it is pulled.
    MayTell(PartId),
    /// The drop across this fuse of the box the probes are at may tell, before they leave it.
    BeforeLeaving(PartId),
    /// One reading alone clears somebody for whom wiring would be named.
    ReadAgain,
    /// The same of a clamp, with the jaws shut anew.
    ShutAgain,
    /// The latest reading there does not count.
    DoesNotCount,
    /// Proven, and within the limit.
    Proven,
    /// Proven, and less is left than is searched from; no limit is known.
    ProvenWithoutLimit,
    /// Within the limit from the start.
    Within,
    /// The draw at one post does not see what is tapped below it: it is read at the lead of this battery, which is low.
    OtherPost(PartId),
    /// What hangs on this battery alone, which is low, is read by itself.
    AtTheTap(PartId),
    /// Within the limit at a post, and this battery is lower than the one in series with it.
    WithinAt(PartId),
    /// Within the limit with nothing out: the fault has gone.
    Vanished,
    /// Within the limit while what comes and goes is away, and over it on average, by what was said to come: that, in
    /// mA.
    OverOnAverage(f64),
    /// What comes and goes is away, and the draw does not say whether anything else is over the limit.
    QuietNow,
    /// Readings that cannot all be true.
    Clash,
    /// Nothing could take that much any more.
    NoSingleCause,
    /// It cannot be parted further, and no proof can be taken.
    CannotPart,
    /// Modules of a network are up together, and none of them was shown to keep the others so.
    KeptUp,
    /// What is left may be over the limit or not, and with what is at hand no fall would show in it: the
    /// draw that is left.
    TooCoarse(Interval<Milliamps>),
    /// No limit is known.
    NoLimit,
    /// Everything goes back in before the repair is judged.
    RepairedBackIn,
    /// The vehicle is prepared anew after the repair.
    PrepareAgain,
    /// The settled draw after the repair.
    AfterRepair,
    /// Within the limit after the repair: it is watched.
    Watch,
    /// Within the limit after the repair, and still so when it had been watched.
    Mended,
    /// Within the limit after the repair, and not watched.
    MendedUnwatched,
    /// Not read after the repair.
    MendedUnread,
}

/// A suspect with its share of the odds.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    /// What has gone wrong.
    pub cause: Cause,
    /// In what.
    pub subject: Subject,
    /// Its id in the data.
    pub id: String,
    /// Share of the odds.
    pub odds: f64,
    /// What it could take, in mA.
    pub hides: f64,
    /// Its starting weight.
    pub start: f64,
    /// What moved it beside readings; empty in a plan.
    pub moved: Vec<Moved>,
}

/// A located branch.
#[derive(Clone, Debug, PartialEq)]
pub struct Located {
    /// Its id.
    pub id: String,
    /// From the battery down.
    pub path: Vec<PartId>,
    /// Its excess.
    pub excess: Interval<Milliamps>,
    /// Plugs to part, at the load first, then upward.
    pub unplug: Vec<String>,
}

/// Readings that cannot all be true.
#[derive(Clone, Debug, PartialEq)]
pub struct Clash {
    /// The entries of a smallest few that clash.
    pub entries: Vec<u32>,
    /// What was out where the two ends cross.
    pub out: Out,
    /// The part at which they cross.
    pub part: PartId,
}

/// What [`Case::next`] says.
#[derive(Clone, Debug, PartialEq)]
pub struct Next {
    /// Where the case stands.
    pub state: State,
    /// What to do, if anything.
    pub test: Option<TestPlan>,
    /// Why.
    pub reason: Reason,
    /// What is asked.
    pub questions: Vec<Question>,
    /// Places to open during the preparation or the settle at hand.
    pub open: Vec<PlaceId>,
    /// All suspects that are not ruled out, likeliest first, where the step is to part them.
    pub suspects: Vec<Weighed>,
    /// The same where the step asks for another draw or a proof; empty where `suspects` has them.
    pub in_question: Vec<Weighed>,
    /// The branch or branches; while one is tried, that one.
    pub located: Vec<Located>,
    /// What came out and made the draw fall, where several behind it may be the cause.
    pub branches: Vec<Located>,
    /// What is located by what was read: those branches, or the located one where it is not just tried.
    pub shown: Vec<Located>,
    /// Proofs taken.
    pub found: Vec<Found>,
    /// What is out, as it was named.
    pub out: Vec<String>,
    /// Entries that clash.
    pub clash: Vec<u32>,
    /// Branches with modules that are up together: one cause until shown otherwise.
    pub together: Vec<PartId>,
    /// What to log, while the fault is not there.
    pub watch: Option<Watch>,
    /// Minutes spent.
    pub spent: f64,
    /// Minutes from here to a proof.
    pub expected: Option<f64>,
    /// Of these those of the proof, with its settles and the way there.
    pub proving: Option<f64>,
    /// Minutes that no plan can beat.
    pub at_least: Option<f64>,
}

impl Case<'_> {
    /// What to do next, and all that is known. Changes nothing.
    pub fn next(&self) -> Next {
        self.now.next()
    }

    /// The same without what only a reader wants of it: who is left, and the minutes no plan can beat.
    pub fn step(&self) -> Next {
        self.now.next_with(false)
    }

    /// The test that is asked for.
    pub(super) fn pending(&self) -> Option<TestPlan> {
        let next = self.now.decide(false);
        if next.state == State::Prepare {
            return Some(TestPlan::new(Method::Wait, "prepared".to_owned()));
        }
        if next.state == State::Contradiction {
            return self.again(&next.clash);
        }
        let mut test = next.test?;
        if test.method == Method::Wait {
            "asleep".clone_into(&mut test.entry);
        }
        Some(test)
    }

    /// All suspects that are not ruled out, likeliest first; empty before a settled draw is believed.
    pub fn suspects(&self) -> Vec<Weighed> {
        if !self.now.believed {
            return Vec::new();
        }
        let odds = Odds::of(&self.now, &self.now.judged_base());
        self.now.weighed(&odds)
    }

    /// The state and current of every part: a part that is out keeps those it had when it was in.
    pub fn standing(&self) -> Vec<(PartId, Standing, Interval<Milliamps>, f64)> {
        let now = &self.now;
        let feeds = &now.setting.feeds;
        let judged = now.judged_in();
        feeds
            .parts()
            .map(|part| {
                let standing = judged.standing(part);
                (
                    part,
                    standing,
                    judged.view().current(part),
                    judged.hides(part),
                )
            })
            .collect()
    }

    /// The arithmetic behind the two ends of a part's current in the state judged.
    pub fn why(&self, part: PartId, end: End) -> Vec<Line> {
        let base = self.now.base();
        let out = if base.cuts(&self.now.setting.feeds, part) {
            Out::default()
        } else {
            base
        };
        self.now.ledger.why(&out, part, end)
    }

    /// The same in another state.
    pub fn why_in(&self, out: &Out, part: PartId, end: End) -> Vec<Line> {
        self.now.ledger.why(out, part, end)
    }

    /// The branch of a cause: the path down to it, its excess, and the plugs to part.
    pub fn branch(&self, subject: &Subject) -> Located {
        self.now.located(subject, &self.now.judged_in())
    }

    /// Readings that cannot all be true, if there are any.
    pub fn clash(&self) -> Option<Clash> {
        let ledger = &self.now.ledger;
        let (out, part) = ledger.crossing()?;
        Some(Clash {
            entries: ledger.clash(),
            out,
            part,
        })
    }

    /// Every reading that was not withdrawn, as it was when it was taken, in order.
    pub fn readings(&self) -> &[Shown] {
        &self.now.shown
    }

    /// Whether a reading bounds currents now: it was believed, and none has taken its place.
    pub fn counts(&self, entry: u32) -> bool {
        self.now.counts(entry)
    }

    /// Minutes spent, by the tool's own count.
    pub fn spent(&self) -> f64 {
        self.now.spent
    }

    /// Repairs after which the draw was to be read again, in order.
    pub fn repairs(&self) -> &[Repair] {
        &self.now.repairs
    }

    /// What comes and goes, by what was entered.
    pub fn comes(&self) -> &[Comes] {
        &self.now.comes
    }

    /// Logs since the latest repair.
    pub fn logs(&self) -> &[Logged] {
        &self.now.logs
    }

    /// The longest that the fault stays away, in minutes, where that was entered.
    pub fn stays_away(&self) -> Option<f64> {
        self.now.stays_away()
    }

    /// Whether the vehicle is taken to sleep, by what was entered.
    pub fn is_asleep(&self) -> bool {
        self.now.asleep
    }

    /// What is out now.
    pub fn out_now(&self) -> Out {
        self.now.out_set()
    }

    /// What is out in the state that is judged: proven drains alone.
    pub fn base(&self) -> Out {
        self.now.base()
    }

    /// The settled draw: the latest with proven drains alone out;
    /// `None` before there is one.
    pub fn settled_draw(&self) -> Option<&Draw> {
        let base = self.now.base();
        let away = self.now.away.as_ref().filter(|away| away.out == base);
        away.or_else(|| self.now.draw_with(&base))
    }

    /// A draw as it is on average, by what was said to come and go regularly.
    pub fn on_average(&self, draw: Interval<Milliamps>) -> Interval<Milliamps> {
        self.now.on_average(draw)
    }

    /// The draw that parts are judged by: the settled one, or that which was searched for where the
    /// drain is out or mended and the vehicle within its limit.
    pub fn judged_by(&self) -> Option<&Draw> {
        let base = self.now.base();
        self.now.sought().or_else(|| self.now.draw_with(&base))
    }

    /// The judgement of the state the search is in.
    pub fn judged(&self) -> Judgement<'_> {
        self.now.judged_in()
    }
}
