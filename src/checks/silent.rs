//! What the file leaves out: the study tries it at the hard end of its range.

use super::Check;

pub(crate) const SILENT: Check = Check {
    code: "silent-input",
    question: "Would the site still work if what the file leaves out were less kind?",
    formula: "what fails with the input at the hard end of its range fails as taken, too",
    source: "ranges: common practice, no source",
};
