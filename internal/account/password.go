package account

import (
	_ "embed"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// A password's length, in characters. Eight is the least that NIST SP 800-63B
// and the OWASP ASVS (6.2.1) allow; both ask for at least 64 to be taken.
const (
	passwordMin = 8
	passwordMax = 128
)

// commonText lists words that people make passwords from, one to a line. Each
// stands for all its spellings: with figures and signs before or behind it,
// in any case, with the usual signs for letters, and said more than once.
//
//go:embed common.txt
var commonText string

var common = sync.OnceValue(func() map[string]bool {
	m := map[string]bool{}
	for w := range strings.FieldsSeq(commonText) {
		m[w] = true
	}
	return m
})

// preparePassword gives a password in the one form it is hashed in, so that
// an é typed on any keyboard is the same é (RFC 8265 section 4.2).
func preparePassword(pw string) string { return norm.NFC.String(pw) }

// checkPassword says what is wrong with a new password, or "". about are the
// names it must not be made from: the person's, the sign-in's, the garage's.
func checkPassword(pw string, about ...string) string {
	if !utf8.ValidString(pw) || strings.ContainsFunc(pw, unicode.IsControl) {
		return "this holds a character that cannot be typed everywhere; please leave it out"
	}
	pw = preparePassword(pw)
	lower := strings.ToLower(pw)
	switch n := utf8.RuneCountInString(pw); {
	case n < passwordMin:
		return "at least 8 characters, please; three or four unrelated words do well"
	case n > passwordMax:
		return "at most 128 characters, please"
	case distinct(lower) < 5:
		return "this is the same few characters over and over; please choose something longer to guess"
	case strings.Trim(lower, "0123456789 -./") == "" && n < 14:
		return "a password of figures only has to be longer; please put words into it"
	case runs(lower)*3 <= n:
		return "this follows the keyboard or the alphabet; please choose something without an order"
	case isCommon(lower):
		return "this is among the passwords that are tried first; please choose another"
	case mostlyNames(lower, about):
		return "this is mostly a name that anybody here knows; please use other words"
	}
	return ""
}

func distinct(s string) int {
	seen := map[rune]bool{}
	for _, c := range s {
		seen[c] = true
	}
	return len(seen)
}

// rows are the orders that fingers and tongues follow.
var rows = []string{"abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm"}

// runs counts the pieces of s that follow one row in one direction, or stay
// on one character. In a good password most pieces are one or two long.
func runs(s string) int {
	cs := []rune(s)
	n := 0
	for i := 0; i < len(cs); n++ {
		longest := 1
		for _, step := range []int{0, 1, -1} {
			j := i
			for j+1 < len(cs) && follows(cs[j], cs[j+1], step) {
				j++
			}
			longest = max(longest, j-i+1)
		}
		i += longest
	}
	return n
}

func follows(a, b rune, step int) bool {
	if step == 0 {
		return a == b
	}
	for _, row := range rows {
		// The last 0 of the figures is for those who count 8, 9, 0.
		for at := range len(row) {
			if next := at + step; rune(row[at]) == a && next >= 0 && next < len(row) && rune(row[next]) == b {
				return true
			}
		}
	}
	return false
}

// swaps are the signs people write for letters. A 1 is an i to some and an l
// to others.
var swaps = [2]*strings.Replacer{
	strings.NewReplacer("0", "o", "1", "i", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b", "@", "a", "$", "s", "!", "i", "|", "i", "+", "t", "€", "e"),
	strings.NewReplacer("0", "o", "1", "l", "3", "e", "4", "a", "5", "s", "7", "t", "8", "b", "@", "a", "$", "s", "!", "l", "|", "l", "+", "t", "€", "e"),
}

func isCommon(lower string) bool {
	notLetter := func(c rune) bool { return !unicode.IsLetter(c) }
	// What is left when some or all of the figures and signs behind are taken
	// off, with and without those before.
	cs := []rune(lower)
	for end := len(cs); end > 0; end-- {
		f := string(cs[:end])
		for _, form := range []string{f, strings.TrimLeftFunc(f, notLetter)} {
			if known(form) || known(swaps[0].Replace(form)) || known(swaps[1].Replace(form)) {
				return true
			}
		}
		if unicode.IsLetter(cs[end-1]) {
			break
		}
	}
	return false
}

// known finds a word in the list, also said more than once, also with signs
// between its parts.
func known(s string) bool {
	s = strings.Join(strings.FieldsFunc(s, func(c rune) bool { return !unicode.IsLetter(c) && !unicode.IsDigit(c) }), "")
	return s != "" && (common()[s] || common()[s[:period(s)]])
}

// mostlyNames tells whether fewer than eight characters are left once the
// names are taken out.
func mostlyNames(lower string, about []string) bool {
	rest := squash(lower)
	var names []string
	for _, a := range about {
		a = strings.ToLower(a)
		names = append(names, squash(a))
		names = append(names, strings.FieldsFunc(a, func(c rune) bool { return !unicode.IsLetter(c) })...)
	}
	slices.SortFunc(names, func(a, b string) int { return len(b) - len(a) })
	found := false
	for _, n := range names {
		if utf8.RuneCountInString(n) >= 4 && strings.Contains(rest, n) {
			rest = strings.ReplaceAll(rest, n, "")
			found = true
		}
	}
	return found && utf8.RuneCountInString(rest) < passwordMin
}

func squash(lower string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return c
		}
		return -1
	}, lower)
}
