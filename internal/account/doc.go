// Package account is who may come in: the garage's staff, how they sign in
// with a password at the desk or a PIN on an enrolled tablet, their sessions,
// the tablets and the tokens of programs.
//
// # Secrets
//
// Passwords and PINs are kept as argon2id hashes. Session, tablet and API
// tokens are 256 random bits, of which only the SHA-256 is kept: they are too
// long to be guessed from it. None of them is ever part of an event, a log
// line, or the result kept for a repeated request.
//
// # Wrong tries
//
// A try is counted before the secret is hashed, in the database and under a
// lock, so that no number of tries at once, from however many servers, gets
// past the limits in limits.go. A try that turns out right is uncounted.
//
// # Sessions
//
// A browser's session ends after 12 hours without use and 7 days at most; a
// tablet's after 4 hours and 16, since it lies about in the workshop. It is
// bound to the tablet it was opened on. Whoever is deactivated, or gets a new
// password, is out at once.
package account
