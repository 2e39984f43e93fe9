//! Keys of `answers`: the codes of the questions that are asked of a thing.

use std::sync::LazyLock;

use super::{Field, Holds, field};
use crate::tables::{Of, questions};

type List = (Of, &'static str, Vec<Field>);

static LISTS: LazyLock<Vec<List>> = LazyLock::new(|| {
    let tables = [
        (Of::Site, ""),
        (Of::Supply, "supply"),
        (Of::Device, "device"),
        (Of::Junction, "junction"),
        (Of::Fuse, "fuse"),
        (Of::Earth, "earth"),
        (Of::Run, "run"),
        (Of::Bus, "bus"),
    ];
    let keys = |of| {
        let own = questions().iter().filter(move |q| q.of == of);
        own.map(|q| field(&q.code, Holds::Flag, &q.question))
            .collect()
    };
    tables.map(|(of, name)| (of, name, keys(of))).into()
});

/// Keys of the answers of a thing.
pub fn answers(of: Of) -> &'static [Field] {
    let found = LISTS.iter().find(|(known, ..)| *known == of);
    found.map_or(&[], |(.., keys)| keys)
}

/// Keys of the answers below a table, which is called by its keys; the file itself is the empty
/// text.
pub(super) fn answers_below(table: &str) -> Option<&'static [Field]> {
    let found = LISTS.iter().find(|(_, name, _)| *name == table);
    found.map(|(.., keys)| keys.as_slice())
}
