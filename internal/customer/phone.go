package customer

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/nyaruka/phonenumbers"
)

// region is where a number without a country code is taken to be dialled.
const region = "GB"

// between is what people write between two numbers in one field.
var between = regexp.MustCompile(`(?i)\s*(?:[/,;|]|\bor\b|\band\b)\s*`)

// extension is a number inside the house that answers; it is kept in the text
// and left out of the digits.
var extension = regexp.MustCompile(`(?i)(?:ext(?:ension|n)?\.?|x)\s*\d{1,6}\D*$`)

var letters = regexp.MustCompile(`\pL+`)

// Digits gives a telephone number as the digits that every spelling of it
// leads to: country code first, no plus (ITU-T E.164). Several numbers in one
// field come out with a space between. What cannot be read as a number gives
// its bare digits.
func Digits(phone string) string {
	var out []string
	for _, one := range between.Split(phone, -1) {
		if d := digits(one); d != "" {
			out = append(out, d)
		}
	}
	return strings.Join(out, " ")
}

func digits(phone string) string {
	// Words around a number would else be read as the letters on its keys.
	phone = letters.ReplaceAllString(extension.ReplaceAllString(phone, ""), " ")
	n, err := phonenumbers.Parse(phone, region)
	if err != nil {
		return bare(phone)
	}
	// Formatted by hand: the library's E.164 would drop a leading zero that
	// some national numbers keep only in its own field.
	return strconv.Itoa(int(n.GetCountryCode())) + phonenumbers.GetNationalSignificantNumber(n)
}

// SearchDigits gives the digits to look for inside Digits, from a number that
// may be half typed: without the leading zeros of the trunk or the
// international prefix. It is empty when the text is not a number at all.
func SearchDigits(text string) string {
	for _, c := range text {
		if !(c >= '0' && c <= '9') && !strings.ContainsRune(" +()-./", c) {
			return ""
		}
	}
	international := strings.HasPrefix(strings.TrimSpace(text), "+") || strings.HasPrefix(bare(text), "00")
	// +44 (0)1632: the zero is for those who dial without the country code.
	text = strings.Replace(text, "(0)", "", 1)
	d := strings.TrimLeft(bare(text), "0")
	if international {
		if rest, ok := strings.CutPrefix(d, "440"); ok {
			d = "44" + rest
		}
	}
	return d
}

func bare(s string) string {
	return strings.Map(func(c rune) rune {
		if c >= '0' && c <= '9' {
			return c
		}
		return -1
	}, s)
}
