package tyre

import (
	"errors"
	"strings"
)

// speed is one speed symbol with the highest speed it stands for, in km/h.
type speed struct {
	symbol string
	kmh    int
}

// speeds are in the order of their speeds, in which H comes between U and V.
// Q to V and H as printed in annex I of the French arrêté of 24 October 1994
// (UN R30, paragraph 2.29); W, Y and those below Q: ISO 4223-1, from memory
// and as open tyre software has them.
var speeds = []speed{
	{"A1", 5}, {"A2", 10}, {"A3", 15}, {"A4", 20}, {"A5", 25}, {"A6", 30}, {"A7", 35}, {"A8", 40},
	{"B", 50}, {"C", 60}, {"D", 65}, {"E", 70}, {"F", 80}, {"G", 90}, {"J", 100}, {"K", 110}, {"L", 120}, {"M", 130},
	{"N", 140}, {"P", 150}, {"Q", 160}, {"R", 170}, {"S", 180}, {"T", 190}, {"U", 200}, {"H", 210}, {"V", 240}, {"W", 270}, {"Y", 300},
}

// ZRSpeed is what ZR in a size means more than, in km/h (UN R30).
const ZRSpeed = 240

// SpeedOf is the speed of a symbol in km/h. ok is false for no symbol; ZR has
// no one speed, only more than ZRSpeed.
func SpeedOf(symbol string) (kmh int, ok bool) {
	symbol = strings.ToUpper(strings.TrimSpace(symbol))
	for _, s := range speeds {
		if s.symbol == symbol {
			return s.kmh, true
		}
	}
	return 0, false
}

// ErrSymbol is what is said of something that is no speed symbol.
var ErrSymbol = errors.New("a speed symbol, please, from A1 to Y, or ZR")

// ParseSymbol reads a speed symbol on its own: the symbol, its speed in km/h,
// and whether it means more than that, as ZR, (W) and (Y) do.
func ParseSymbol(text string) (symbol string, kmh int, above bool, err error) {
	t := strings.ToUpper(strings.TrimSpace(text))
	if t == "ZR" {
		return t, ZRSpeed, true, nil
	}
	if inside, ok := strings.CutPrefix(t, "("); ok {
		inside, above = strings.CutSuffix(inside, ")")
		if !above || inside != "W" && inside != "Y" {
			return "", 0, false, ErrSymbol
		}
		t = inside
	}
	kmh, ok := SpeedOf(t)
	if !ok {
		return "", 0, false, ErrSymbol
	}
	return t, kmh, above, nil
}

// SymbolFor is the lowest symbol that is good for a speed in km/h; ok is false
// above 300.
func SymbolFor(kmh float64) (symbol string, ok bool) {
	for _, s := range speeds {
		if float64(s.kmh) >= kmh {
			return s.symbol, true
		}
	}
	return "", false
}

// Symbols lists every speed symbol from slow to fast with its speed in km/h.
func Symbols() (symbols []string, kmh []int) {
	for _, s := range speeds {
		symbols, kmh = append(symbols, s.symbol), append(kmh, s.kmh)
	}
	return symbols, kmh
}

// HighSpeedLoad is the part of the load index's load that a tyre of symbol V,
// W or Y carries at a speed in km/h: all of it up to 210 (V), 240 (W) and 270
// (Y), and then 3 % (V) and 5 % (W, Y) less for every 10 km/h (UN R30,
// paragraphs 2.30.3 to 2.30.5, from memory). Others carry all of it up to
// their speed. ok is false above the symbol's speed.
func HighSpeedLoad(symbol string, kmh float64) (part float64, ok bool) {
	most, known := SpeedOf(symbol)
	if !known || kmh > float64(most) {
		return 0, false
	}
	from, each := map[string]float64{"V": 210, "W": 240, "Y": 270}[symbol], 0.05
	if symbol == "V" {
		each = 0.03
	}
	if from == 0 || kmh <= from {
		return 1, true
	}
	return 1 - each*(kmh-from)/10, true
}
