//! The program itself in a pseudo-terminal: it takes the screen over and gives it back.
