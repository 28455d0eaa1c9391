// Package bench keeps the run at the engine: which cuts of a job are done, in a
// log that is only ever added to. What the log says is replayed, never stored
// beside it; the count is on the disk before it is on a screen.
//
// Lengths are millimetres, angles radians, times those of the device's clock (At)
// and of the log's (Kept). Cuts are numbered from 1 in the order in which they are
// cut, which for a job with a plan is the plan's.
//
// # The file
//
// Log is one SQLite file in the workshop's folder (journal_mode WAL, synchronous
// FULL), made by the first Start. Three tables: frozen files by their SHA-256, the
// heads of runs, and events, one line of JSON each. Triggers refuse to change or
// delete. Every event carries the SHA-256 of the link before it and its own line;
// the first link is that of the run's head, which names the frozen files by their
// digests. An event that was altered, taken out or put in is found when the run is
// read, and nothing from there on is used (Torn). A log that merely ends early is
// whole by itself; devices that have seen more of it find out by their Seen. The
// chain guards against damage, not against someone who rewrites all of it.
//
// A run goes by the frozen job: its text and all that reading it took, and the
// settings of every cut as they came out when it was started.
//
// # Devices
//
// Several devices may count one run, and count on without the network. An event
// has an ID, so that it can be sent again; a Device; and Seen, the greatest Seq of
// the run that the device had seen when it made the event. What a device makes
// without the network it sends later, in the order in which it was made. "Unseen"
// below means: by another device, with a Seq greater than the event's Seen.
//
// # Rules of replay
//
// The log's order decides. The cuts before next are each done, skipped or passed
// over; next is the first that is not. An event is, by the first rule that fits:
//
//  1. malformed (an unknown kind, no such cut): refused, and not in the log;
//  2. one whose ID the log has: already;
//  3. note, measured, held, touched-up, paused, resumed: kept, in any order, also
//     after the end;
//  4. settled: see below. reopened: kept when the run was ended, else already;
//  5. of the other kinds, one whose device has an open question with a Seq greater
//     than the event's Seen: a conflict that follows this question. What was
//     counted on top of a count in question waits with it;
//  6. done n or skipped n of a cut n before next that is the same already: already.
//     So is done n where n was passed over; it is then counted, and witnessed;
//  7. undone: of an ID that the log does not have, or that is in question: conflict;
//     of an event that counts nothing: refused; of a count that does not stand any
//     more: already. An event that was already stands for the count it met;
//  8. finished of a finished run, abandoned of an abandoned one: already;
//  9. one that has seen more than the log holds: conflict (an older copy of the
//     log was put back);
//  10. any when the run has ended: conflict;
//  11. one made before its device knew that another had dropped what it had counted:
//     conflict;
//  12. done n, n before next, skipped: conflict when what skipped it is unseen, else
//     kept, the cut is cut after all. skipped n, n before next: conflict;
//  13. done n or skipped n, n after next: conflict;
//  14. done n or skipped n, n = next: conflict when the last placed is unseen, or the
//     last undoing of n; else kept;
//  15. undone: conflict when the count is not the last, or when the cut was also
//     counted unseen; else kept, and the cut is as it was before;
//  16. placed n: conflict when n is not next and any change of the count is unseen;
//     else kept: cuts before n that were not done are passed over, cuts from n on
//     are open, nothing before can be undone, and questions that its device had
//     seen are dropped, since the dials have answered;
//  17. finished: conflict while a cut is open, else kept. abandoned: conflict when a
//     change of the count is unseen, else kept.
//
// A conflict that follows no question opens one. It has no effect on the count,
// which goes on where it stands. settled closes the question of the event that it
// names (already when there is none) with all that follows it. "drop" leaves the
// count as it is. "count" takes the events in turn as if nothing spoke against
// them, since a person has looked: before a counted cut others are passed over; a
// count taken back that is not the last leaves its cut skipped; a run may end with
// cuts open.
//
// A count ends a pause. The last count that stands, unless a placed or such a
// settling came after it, is what an undo takes back.
package bench
