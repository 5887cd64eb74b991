package ui

import (
	"maps"
	"slices"
)

// stroke is one path of a mark on a 20 by 20 square: drawn as a line, or
// filled, or bold, as a pen that was pressed.
type stroke struct {
	D    string
	Fill bool
	Bold bool
}

func (s stroke) class() string {
	switch {
	case s.Fill:
		return "fill"
	case s.Bold:
		return "bold"
	}
	return "line"
}

func lines(ds ...string) []stroke {
	out := make([]stroke, len(ds))
	for i, d := range ds {
		out[i] = stroke{D: d}
	}
	return out
}

func filled(d string) stroke { return stroke{D: d, Fill: true} }

// The shapes that families of marks share.
const (
	box      = "M4 4.5h12v11.5h-12z"
	ring     = "M10 3a7 7 0 1 0 .01 0"
	diamond  = "M10 2.5l7.5 7.5l-7.5 7.5l-7.5-7.5z"
	triangle = "M10 3l7.5 13.5h-15z"
	tick     = "M5 9.5l4 5l9.5-13"
	sheetOf  = "M4.5 2.5h8l3 3v12h-11z"
	strike   = "M3 17l14-14"
)

// glyphs draws every word that has a mark. Work is a box that gets its tick,
// consent a bubble with the answer in it, supply a diamond that arrives, fit a
// socket and what goes into it, stage a ring that fills, harm a triangle.
var glyphs = map[string][]stroke{
	// Work.
	"open":             lines(box),
	"in hand":          lines(box, "M4 16l12-11.5"),
	"done":             {{D: box}, {D: tick, Bold: true}},
	"deferred":         lines("M13 4.5h-9v11.5h9", "M8 10.2h10", "M14.8 7l3.2 3.2l-3.2 3.2"),
	"waiting on parts": append(lines(box), filled("M6 9.3h1.9v1.9h-1.9z"), filled("M9.1 9.3h1.9v1.9h-1.9z"), filled("M12.2 9.3h1.9v1.9h-1.9z")),

	// Consent.
	"asked":    lines("M3 4h14v9.5h-8l-3.5 3.5v-3.5h-2.5z", "M8.2 7.6a1.9 1.9 0 1 1 2.6 1.8c-.6.3-.8.6-.8 1", "M10 11.8v.4"),
	"agreed":   lines("M3 4h14v9.5h-8l-3.5 3.5v-3.5h-2.5z", "M6.8 8.8l2.2 2.4l4.4-5"),
	"declined": lines("M3 4h14v9.5h-8l-3.5 3.5v-3.5h-2.5z", "M7.4 6.3l5.2 5", "M12.6 6.3l-5.2 5"),

	// Supply.
	"needed":     lines(diamond),
	"ordered":    append(lines(diamond), filled("M10 8a2 2 0 1 0 .01 0z")),
	"arrived":    {filled(diamond)},
	"fitted":     append([]stroke{filled(diamond)}, stroke{D: "M2 18.3h16"}),
	"going back": lines("M7.5 4l-4 4l4 4", "M3.5 8h9a4 4 0 0 1 0 8h-4"),
	"credited":   lines("M7.5 4l-4 4l4 4", "M3.5 8h9a4 4 0 0 1 0 8h-4", "M3 18.5h14"),
	"not coming": lines(diamond, strike),

	// Fitment.
	"unchecked":    lines("M3 5h4v10h-4", "M17 5h-4v10h4"),
	"fits":         append(lines("M3 5h4v10h-4", "M17 5h-4v10h4"), filled("M7 6.5h6v7h-6z")),
	"does not fit": append(lines("M3 5h4v10h-4", "M17 5h-4v10h4"), filled("M9 1.5h2v17h-2z")),
	"cannot tell":  lines("M3 5h3v10h-3", "M17 5h-3v10h3", "M8.1 7.6a1.9 1.9 0 1 1 2.7 1.8c-.6.3-.8.7-.8 1.4", "M10 13.2v.4"),

	// The gate before the old parts come off: a barrier, and a part that is out.
	"up to strip-down only": lines("M3 4v13", "M17 4v13", "M3 8.5h14", "M3 12.5h14"),
	"old parts off":         append(lines("M3 5h4v10h-4", "M17 5h-4v10h4"), filled("M7 1h6v4.5h-6z")),

	// What a condition comes to.
	"holds":     {{D: tick, Bold: true}},
	"fails":     {{D: "M4.5 4.5l11 11", Bold: true}, {D: "M15.5 4.5l-11 11", Bold: true}},
	"not known": lines("M6.6 6.6a3.4 3.4 0 1 1 4.8 3.1c-1 .5-1.4 1.2-1.4 2.5", "M10 15.4v.6"),

	// Stages of a card.
	"booked":    lines(ring),
	"on site":   append(lines(ring), filled("M10 3a7 7 0 0 1 7 7h-7z")),
	"in work":   append(lines(ring), filled("M10 3a7 7 0 0 1 0 14z")),
	"ready":     append(lines(ring), filled("M10 3a7 7 0 1 1-7 7h7z")),
	"collected": {filled(ring + "z")},
	"cancelled": lines(ring, strike),

	// Harm, in the categories of a vehicle's test.
	"dangerous": append([]stroke{filled(triangle)}, stroke{D: "M1 19h18"}),
	"major":     lines(triangle, "M10 8v4", "M10 14v.6"),
	"minor":     lines(triangle),
	"advisory":  lines("M10 3a7 7 0 1 0 .01 0", "M10 9v5", "M10 6v.5"),

	// Bills: a sheet, what is written on it, and whether it was settled.
	"unpaid":      lines(sheetOf, "M7 8h6", "M7 11h6"),
	"overdue":     append(lines(sheetOf, "M10 7v5"), filled("M9.1 13.6h1.8v1.8h-1.8z")),
	"paid":        {{D: sheetOf}, {D: "M6.5 10.5l2.6 3.2l5.4-7", Bold: true}},
	"overpaid":    lines(sheetOf, "M10 7.5v6", "M7 10.5h6"),
	"credit note": lines(sheetOf, "M7 10.5h6"),

	// Asides.
	"look":    lines("M2 10h13", "M10.5 5.5l4.5 4.5l-4.5 4.5"),
	"caution": lines(triangle, "M10 8v4", "M10 14v.6"),
}

// MarkWords lists every word that Mark can draw.
func MarkWords() []string {
	words := slices.Sorted(maps.Keys(glyphs))
	return slices.DeleteFunc(words, func(w string) bool { return w == "look" || w == "caution" })
}
