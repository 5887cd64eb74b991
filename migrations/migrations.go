// Package migrations holds the schema as numbered steps. Each file is one
// transaction; a step that landed is never edited.
package migrations

import "embed"

// FS has every step.
//
//go:embed *.sql
var FS embed.FS
