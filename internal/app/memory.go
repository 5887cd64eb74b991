package app

import (
	"runtime/debug"

	"rampside/internal/config"
)

// How the memory of the server is collected, unless GOGC or GOMEMLIMIT say
// otherwise. Little of what a garage's server holds lives long, so that the
// collector, left to itself, runs dozens of times a second under load to keep
// a heap of some megabytes small. Letting it grow fivefold serves a third more
// pages; the limit has large pictures collected as before.
const (
	heapGrowth  = 400 // per cent
	memoryLimit = 192 << 20
)

// collectSeldom sets how memory is collected, for the whole process.
func collectSeldom(env config.Env) {
	if _, set := env("GOGC"); !set {
		debug.SetGCPercent(heapGrowth)
	}
	if _, set := env("GOMEMLIMIT"); !set {
		debug.SetMemoryLimit(memoryLimit)
	}
}
