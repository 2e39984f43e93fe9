//! What no number answers: the questions that people are asked, the cautions that a site earns, and
//! where the code has a subject.

use std::sync::LazyLock;

use serde::Deserialize;

use super::Pedigree;
use crate::diagnostic::Severity;

/// The table of a site file in which a thing stands that is asked about.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq, Hash)]
#[serde(rename_all = "lowercase")]
#[expect(
    missing_docs,
    reason = "each is the table of its name; the site is the file itself"
)]
pub enum Of {
    Site,
    Supply,
    Device,
    Junction,
    Fuse,
    Earth,
    Run,
    Bus,
}

impl Of {
    /// The table's word; the whole site is called so.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Site => "site",
            Self::Supply => "supply",
            Self::Device => "device",
            Self::Junction => "junction",
            Self::Fuse => "fuse",
            Self::Earth => "earth",
            Self::Run => "run",
            Self::Bus => "bus",
        }
    }
}

/// What must be so of a thing or a site before it is asked or warned about.
#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq, Hash)]
#[serde(rename_all = "kebab-case")]
pub enum When {
    /// Nothing.
    #[default]
    Always,
    /// Something of it, or a run that reaches it, is outdoors, buried or overhead.
    Outdoors,
    /// A run is buried.
    Buried,
    /// A run is overhead.
    Overhead,
    /// Outdoors, and no heater is drawn.
    OutdoorsWithoutHeater,
    /// A supply that states its place: a box that it shares.
    Boxed,
    /// The same without a battery in the file.
    BoxedWithoutBattery,
    /// A supply over 30 V ac or 60 V dc.
    OverLimits,
    /// A supply with a battery on one network with a lock of which it is said that a fire alarm cuts
    /// its supply.
    BatteryBehindFireRelease,
    /// A lock or strike behind an output of which nobody says that it has contacts of metal.
    MaybeSolidState,
    /// A device in a box that is not said to be of something else than metal.
    MaybeInMetal,
    /// A device from whose own terminals others are fed.
    FeedsOthers,
    /// A supply or device at whose terminals several power runs end, without a word how many
    /// conductors one takes.
    Crowded,
    /// A fuse that is not known to be at another place than the supply of its run.
    MaybeAtSource,
    /// A device with a contact run that does not say which input it closes and what that does, or
    /// without any.
    InputsNotDrawn,
    /// A run with several conductors in a leg, power over data pairs apart.
    Parallel,
    /// A run that carries Wiegand data.
    Wiegand,
    /// A run that carries data, on a site with a gate operator.
    DataBesideMotor,
    /// A run with splices that is outdoors, buried or overhead.
    SplicedOutdoors,
    /// Splices somewhere.
    Spliced,
    /// Some device says what it is.
    Drawn,
    /// A supply that no device feeds.
    Mains,
    /// A supply of alternating current.
    Ac,
    /// A supply with a battery.
    Battery,
    /// Power over Ethernet.
    Poe,
    /// A gate operator, or what guards people from a gate.
    Gate,
    /// A lock, a strike or a button.
    Lock,
    /// An earth.
    Earth,
}

impl When {
    /// In words, behind what is asked; nothing where nothing is needed.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Always => "",
            Self::Outdoors => "outdoors",
            Self::Buried => "buried",
            Self::Overhead => "overhead",
            Self::OutdoorsWithoutHeater => "outdoors, no heater drawn",
            Self::Boxed => "in a place of its own",
            Self::BoxedWithoutBattery => "in a place of its own, no battery drawn",
            Self::OverLimits => "over 30 V ac or 60 V dc",
            Self::BatteryBehindFireRelease => {
                "with a battery, on one network with a lock that a fire alarm releases"
            }
            Self::MaybeSolidState => "behind an output that may be solid state",
            Self::MaybeInMetal => "in a box that may be of metal",
            Self::FeedsOthers => "with others on its own terminals",
            Self::Crowded => "with several runs at one terminal",
            Self::MaybeAtSource => "not known to be elsewhere than its supply",
            Self::InputsNotDrawn => "with an input of which the file does not say what it does",
            Self::Parallel => "with conductors in parallel",
            Self::Wiegand => "with Wiegand data",
            Self::DataBesideMotor => "with data, a gate operator on the site",
            Self::SplicedOutdoors => "spliced outdoors",
            Self::Spliced => "spliced",
            Self::Drawn => "with devices that say what they are",
            Self::Mains => "fed by no device",
            Self::Ac => "of alternating current",
            Self::Battery => "with a battery",
            Self::Poe => "with power over Ethernet",
            Self::Gate => "with a gate",
            Self::Lock => "with a lock, strike or button",
            Self::Earth => "with an earth",
        }
    }
}

/// A question that a person answers with yes or no.
#[derive(Debug, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Question {
    /// Its code: the key of the answer, and the code of the finding where the answer is no.
    pub code: String,
    /// The question; yes is the good answer.
    pub question: String,
    /// Of what it is asked.
    pub of: Of,
    /// Of which kinds of device or earth; empty: all.
    #[serde(default)]
    pub kinds: Vec<String>,
    /// What must be so before it is asked.
    #[serde(default)]
    pub when: When,
    /// How grave a no is.
    #[serde(deserialize_with = "severity")]
    pub no: Severity,
    /// How grave it is that nobody has answered.
    #[serde(deserialize_with = "severity")]
    pub unknown: Severity,
    /// What is at stake, or what to do.
    pub caution: String,
    /// Where it comes from.
    pub source: String,
}

/// A caution in our own words.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Caution {
    /// Its code.
    pub code: String,
    /// What a site must have to earn it.
    pub when: When,
    /// The words; `NEC {topic}` is filled in by the edition on file.
    pub words: String,
}

/// Where a subject stands in the code, by edition.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Section {
    /// The subject.
    pub topic: String,
    nec_2017: String,
    nec_2020: String,
    nec_2023: String,
    nec_2026: String,
    /// How the numbers were checked.
    pub checked: String,
}

/// Editions with a column of their own, oldest first.
pub const EDITIONS: [u16; 4] = [2017, 2020, 2023, 2026];

impl Section {
    /// Its number in an edition; `None` where that was not checked.
    pub fn number(&self, edition: u16) -> Option<&str> {
        let text = match edition {
            2017 => &self.nec_2017,
            2020 => &self.nec_2020,
            2023 => &self.nec_2023,
            2026 => &self.nec_2026,
            _ => return None,
        };
        (!text.is_empty()).then_some(text.as_str())
    }
}

/// Every question, in file order.
pub fn questions() -> &'static [Question] {
    &QUESTIONS.question
}

/// Every caution, in the order in which they are shown.
pub fn cautions() -> &'static [Caution] {
    &CAUTIONS.caution
}

/// Every subject of the code that is cited.
pub fn sections() -> &'static [Section] {
    &SECTIONS.section
}

pub(super) fn questions_pedigree() -> &'static Pedigree {
    &QUESTIONS.head
}

pub(super) fn cautions_pedigree() -> &'static Pedigree {
    &CAUTIONS.head
}

pub(super) fn sections_pedigree() -> &'static Pedigree {
    &SECTIONS.head
}

fn severity<'de, D: serde::Deserializer<'de>>(deserializer: D) -> Result<Severity, D::Error> {
    let word = String::deserialize(deserializer)?;
    let found = Severity::ALL.into_iter().find(|s| s.as_str() == word);
    found.ok_or_else(|| serde::de::Error::custom(format!("'{word}' is no severity")))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Questions {
    head: Pedigree,
    question: Vec<Question>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Cautions {
    head: Pedigree,
    caution: Vec<Caution>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Sections {
    head: Pedigree,
    section: Vec<Section>,
}

static QUESTIONS: LazyLock<Questions> = LazyLock::new(|| table!("questions"));
static CAUTIONS: LazyLock<Cautions> = LazyLock::new(|| table!("cautions"));
static SECTIONS: LazyLock<Sections> = LazyLock::new(|| table!("code-sections"));
