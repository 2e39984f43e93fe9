//! Which questions are asked of a site, of what, and what the answers are.

use crate::practice::when::Sight;
use crate::site::{Answers, Scope, Site, Thing};
use crate::tables::{Of, Question, questions};

/// What a question is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Subject {
    /// The whole site.
    Site,
    /// A thing.
    Thing(Thing),
    /// A two-wire bus, as an index.
    Bus(usize),
}

/// A question that applies.
#[derive(Clone, Copy, Debug)]
pub struct Asked {
    /// What it is about.
    pub subject: Subject,
    /// The question.
    pub question: &'static Question,
    /// The answer, once there is one.
    pub answer: Option<bool>,
}

impl Subject {
    /// Its name; the whole site is called so.
    pub fn name(self, site: &Site) -> &str {
        match self {
            Self::Site => "site",
            Self::Thing(thing) => site.name_of(thing),
            Self::Bus(i) => &site.buses[i].name,
        }
    }

    /// The path of the table that holds its answers, and what goes before a code there.
    pub fn place(self, site: &Site) -> (Vec<String>, &'static str) {
        let table = match self {
            Self::Site => return (vec!["answers".to_owned()], ""),
            Self::Thing(thing) => thing.table(),
            Self::Bus(_) => "bus",
        };
        (
            vec![table.to_owned(), self.name(site).to_owned()],
            "answers.",
        )
    }

    /// The table that it is in.
    fn of(self) -> Of {
        match self {
            Self::Site => Of::Site,
            Self::Thing(Thing::Supply(_)) => Of::Supply,
            Self::Thing(Thing::Device(_)) => Of::Device,
            Self::Thing(Thing::Junction(_)) => Of::Junction,
            Self::Thing(Thing::Fuse(_)) => Of::Fuse,
            Self::Thing(Thing::Earth(_)) => Of::Earth,
            Self::Thing(Thing::Run(_)) => Of::Run,
            Self::Bus(_) => Of::Bus,
        }
    }

    fn answers(self, site: &Site) -> &Answers {
        match self {
            Self::Site => &site.answers,
            Self::Thing(Thing::Supply(i)) => &site.supplies[i].answers,
            Self::Thing(Thing::Device(i)) => &site.devices[i].answers,
            Self::Thing(Thing::Junction(i)) => &site.junctions[i].answers,
            Self::Thing(Thing::Fuse(i)) => &site.fuses[i].answers,
            Self::Thing(Thing::Earth(i)) => &site.earths[i].answers,
            Self::Thing(Thing::Run(i)) => &site.runs[i].answers,
            Self::Bus(i) => &site.buses[i].answers,
        }
    }

    /// Its kind, where it has one.
    fn kind(self, site: &Site) -> Option<&str> {
        match self {
            Self::Thing(Thing::Device(i)) => site.devices[i].kind.as_deref(),
            Self::Thing(Thing::Earth(i)) => site.earths[i].kind.as_deref(),
            _ => None,
        }
    }
}

/// Every question that applies, things in file order, the whole site last.
pub fn asked(site: &Site) -> Vec<Asked> {
    asked_among(site, &Scope::whole(site))
}

/// The same of the things of a scope, and of all that is no thing of the network.
pub fn asked_among(site: &Site, scope: &Scope) -> Vec<Asked> {
    let sight = Sight::of(site);
    let mut all = Vec::new();
    for (of, subjects) in subjects(site, scope) {
        let own = questions_of(of);
        for subject in subjects {
            all.extend(asked_by(&sight, subject, &own));
        }
    }
    all
}

/// The same of one subject.
pub fn asked_of(site: &Site, subject: Subject) -> Vec<Asked> {
    asked_by(&Sight::of(site), subject, &questions_of(subject.of())).collect()
}

fn questions_of(of: Of) -> Vec<&'static Question> {
    questions().iter().filter(|q| q.of == of).collect()
}

fn asked_by(
    sight: &Sight<'_>,
    subject: Subject,
    own: &[&'static Question],
) -> impl Iterator<Item = Asked> {
    let kind = subject.kind(sight.site);
    let answers = subject.answers(sight.site);
    own.iter().filter_map(move |question| {
        let meant = |k: &String| Some(k.as_str()) == kind;
        let answer = answers.get(&question.code);
        // A no counts even where nobody would have asked.
        let applies = || is(sight, subject, question) || answer == Some(false);
        let asks = (question.kinds.is_empty() || question.kinds.iter().any(meant)) && applies();
        asks.then_some(Asked {
            subject,
            question,
            answer,
        })
    })
}

fn is(sight: &Sight<'_>, subject: Subject, question: &Question) -> bool {
    match subject {
        Subject::Thing(thing) => sight.thing_is(thing, question.when),
        Subject::Site | Subject::Bus(_) => sight.site_is(question.when),
    }
}

/// What can be asked about, by its table.
fn subjects(site: &Site, scope: &Scope) -> [(Of, Vec<Subject>); 8] {
    let things = |all: &[usize], thing: fn(usize) -> Thing| {
        all.iter().map(|i| Subject::Thing(thing(*i))).collect()
    };
    [
        (Of::Supply, things(scope.supplies(), Thing::Supply)),
        (Of::Device, things(scope.devices(), Thing::Device)),
        (Of::Junction, things(scope.junctions(), Thing::Junction)),
        (Of::Fuse, things(scope.fuses(), Thing::Fuse)),
        (Of::Earth, things(scope.earths(), Thing::Earth)),
        (Of::Run, things(scope.runs(), Thing::Run)),
        (Of::Bus, (0..site.buses.len()).map(Subject::Bus).collect()),
        (Of::Site, vec![Subject::Site]),
    ]
}
