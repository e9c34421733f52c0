//! The whole test suite in one binary; a sentence above each room.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // a test may fail loudly
#![allow(missing_docs)]

// What a vehicle file says arrives, with its unit and its place.
mod reading;

// A vehicle written anew: the same meaning, every comment, one layout.
mod layout;

// Everything that can be wrong with a vehicle or instruments file, one small file each.
mod problems;

// A vehicle's parts as a table, there and back, and everything that can be wrong with one.
mod table;

// Tables as people type them: titles, merged cells, empty holders, loose words.
mod typed_tables;

// Mistakes planted in a sound file and a sound table: each is found at its very place.
mod planted;

// A vehicle file that grows: nothing but the new lines changes, and an open case goes on.
mod growth;

// Another name for a thing, in a file and in its cases.
mod renaming;

// Two vehicle files compared: nothing differs from itself; turned round, what came went.
mod difference;

// Every sample vehicle is sound.
mod samples;

// House rules that a compiler does not check: order of rooms, one door to the world, no unfinished work.
mod tidy;

// What is typed at the vehicle becomes the act it means, or is refused with a line that works.
mod entries;

// The program as it is called: exit codes, streams, data.
mod commands;

// One reading behind `amps`: read, worked step by step, or refused with a line that works.
mod amps;

// From a reading to a current, against published values; what is there is always inside what is said.
mod physics;

// The next step, its expected minutes and its floor, against known values and a plain reference.
mod planner;

// The whole plan as it is printed: it adds up, reads well, and leads everywhere.
mod planner_command;

// The best plan by trying everything: shares no code with the planner.
mod reference_planner;

// Invented planner tables: small arbitrary ones, and ones that look like a vehicle.
mod invented_tables;

// Invented vehicles of any size, for the tests that need many.
mod generated;

// The ledger: truth stays inside, order does not matter, reasons suffice, clashes are smallest.
mod ledger;

// The feed tree drawn for a terminal: nothing too wide, nothing left out, read back as it was.
mod tree;

// A truthful driver: it answers what `next` asks, and counts.
mod driver;

// Drills: the simulated vehicle keeps its laws, the best play gets full marks, bad checks are named.
mod drill;

// Attempts written by an earlier text, and attempts at a file that was renamed or changed.
mod drill_attempts;

// The best path of a debrief against one found by trying everything.
mod drill_best;
mod drill_board;

// The best path of a debrief against every plan there is, on small vehicles.
mod drill_oracle;

// Inputs that hold modules awake: looked at, unplugged, proven; and following the hints is never wrong.
mod drill_inputs;

// Exercise files: the ladder that comes with the samples, everything that can be wrong with one, attempts.
mod drill_exercises;

// Relays, control wires and inputs of the simulated vehicle, as a tradesman would find them.
mod drill_relays;

// The simulated vehicle: Ohm and Kirchhoff to the last digit, and each trap as it is at a vehicle.
mod drill_simulation;

// Reasons, going back to a step, predictions at a board, what is left out, seals that learners play.
mod drill_tools;

// Marks: full for any play near the best, bad checks named wherever they are planted, little for luck.
mod drill_marks;

// For the instructor: seals, sheets to print, real boards, a class marked in one go; predictions and teach mode.
mod drill_class;

// Every wrong idea that a debrief can name, planted and named alone.
mod drill_misconceptions;

// Drains of every kind hidden in many vehicles: each must be proven, and nobody else.
mod hidden;

// A drain at one feed of a module with several: the module out names nobody, the feed alone does.

// One draw by two instruments, of which one stands in line.
mod in_line;

// A person with a clock and with mistakes, at a vehicle with a clock.
mod parked;
mod several_feeds;

// Several fuses pulled together where none of them can be read across.
mod out_together;

// Instruments for which some tests are blind: none of those is proposed, nothing hidden is ruled out.
mod blind;

// What may happen at the vehicle, on every sample vehicle: skips, slips, undo, a kill, a lost fault.
mod manners;
mod minutes_at_the_vehicle;

// A case on the disk: kept line by line, opened by one run at a time, whole whatever breaks off.
mod case_files;

// Why a part is in its state: the sums hold, the readings cited suffice, the words read well.
mod reasons;

// Cases as they go at the vehicle: what is typed, and where the case stands after it.
mod stories;

// The hard cases by hand: what proves nothing convicts nobody, and the right thing is asked next.
mod hard_cases;

// Faults that come and go, and what is told of them: it steers, and a quiet vehicle is watched.
mod passing;

// The dialogue at the vehicle through a pipe: slips, looking round, runs that break off.
mod trace;

// Whole sessions, looked at: every sample vehicle from nothing to the proof.
mod sessions;

// Minutes to go against those that were needed.
mod to_go;

// What a screen says at single steps, as practitioners read it.
mod practice;

// What cannot be done at the vehicle: one test, or all of a place.
mod skips;

// Slips at the vehicle: each is caught or taken back, and none leads to a wrong part being named.
mod slips;

// What is said to a person with a meter in one hand, each in a short session.
mod trade_words;

// What people ran into who tried it at a vehicle, each a short session.
mod tried;

// What comes of a proof: what is to be mended, what is left, what is not told apart, how it is written up.
mod after_proof;

// The picture of a screen in the README is what the program prints.
mod screen_picture;

// Cautions: which step carries which, each once, on the screen and in the data.
mod cautions;

// The dialogue at a real terminal: prompts, Ctrl-C, a kill, the end of the input.
mod terminal;

// The write-up: looked at for whole sessions, and what it cites suffices for its verdict.
mod write_up;

// What a proof comes to for each kind of culprit: verdict, the owner's sentence, what is left to do.
mod what_mends;

// What an owner reads is what was read and what was unplugged.
mod as_read;

// The feed tree as a drawing: well-formed, on the paper, no text over another, black and white.
mod picture;

// The descriptions in `schemas/`: what the program prints and reads is described, and nothing else.
mod schemas;

// A circuit simulator as referee: its node voltages against ours, and the true current inside every time.
mod referee;

// Current logs whose truth is known: settle, plateau, bursts and steps are found in any way of writing.
mod log;

// The casebook: patterns electricians meet, a vehicle and a story a file, with what must be said of each.
mod casebook;
