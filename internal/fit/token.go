package fit

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// SyntaxError says what is wrong with a rule that somebody wrote, and where.
type SyntaxError struct {
	// At and Len are the place in the text, in bytes; Len is 0 where something
	// is missing.
	At, Len int
	Message string
}

func (e *SyntaxError) Error() string { return e.Message }

// Split parts the text at the place of the error: what is before it, what it
// is about, and what comes after.
func (e *SyntaxError) Split(text string) (before, about, after string) {
	at := min(max(e.At, 0), len(text))
	end := min(max(at+e.Len, at), len(text))
	return text[:at], text[at:end], text[end:]
}

type tokenKind int

const (
	end tokenKind = iota
	word
	quotedText
	comma
	open
	shut
	symbol // = : != < <= > >=
)

// token is a piece of a rule. Of quotedText, text is what the quotes hold.
type token struct {
	kind    tokenKind
	text    string
	at, len int
}

func (t token) is(words ...string) bool {
	for _, w := range words {
		if (t.kind == word || t.kind == symbol) && strings.EqualFold(t.text, w) {
			return true
		}
	}
	return false
}

func (t token) wrong(format string, args ...any) *SyntaxError {
	return &SyntaxError{t.at, t.len, fmt.Sprintf(format, args...)}
}

// tokens parts a text. The last token is always end.
func tokens(text string) ([]token, error) {
	var out []token
	for at := 0; at < len(text); {
		c, size := utf8.DecodeRuneInString(text[at:])
		switch {
		case c == utf8.RuneError && size == 1:
			return nil, &SyntaxError{at, 1, "this is not text; please type it again"}
		case unicode.IsSpace(c):
			at += size
			continue
		}
		t, err := next(text, at)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
		at += t.len
	}
	return append(out, token{kind: end, at: len(text)}), nil
}

func next(text string, at int) (token, error) {
	rest := text[at:]
	switch rest[0] {
	case ',':
		return token{comma, ",", at, 1}, nil
	case '(':
		return token{open, "(", at, 1}, nil
	case ')':
		return token{shut, ")", at, 1}, nil
	case ';':
		return token{word, "and", at, 1}, nil
	case '"':
		return quote(text, at)
	}
	if n := symbolLen(rest); n > 0 {
		return token{symbol, rest[:n], at, n}, nil
	}
	n := 0
	for n < len(rest) {
		c, size := utf8.DecodeRuneInString(rest[n:])
		if unicode.IsSpace(c) || strings.ContainsRune(`,();"`, c) || c == utf8.RuneError && size == 1 || symbolLen(rest[n:]) > 0 {
			break
		}
		n += size
	}
	return token{word, rest[:n], at, n}, nil
}

// symbolLen is how long the symbol is that s begins with; 0 for none. A colon
// is one before a blank only: codes may hold one.
func symbolLen(s string) int {
	two := len(s) > 1 && s[1] == '='
	switch s[0] {
	case '!':
		if two {
			return 2
		}
	case '<', '>':
		if two {
			return 2
		}
		return 1
	case '=':
		return 1
	case ':':
		if len(s) == 1 || s[1] == ' ' {
			return 1
		}
	}
	return 0
}

func quote(text string, at int) (token, error) {
	var b strings.Builder
	for i := at + 1; i < len(text); i++ {
		switch {
		case text[i] != '"':
			b.WriteByte(text[i])
		case i+1 < len(text) && text[i+1] == '"':
			b.WriteByte('"')
			i++
		default:
			return token{quotedText, b.String(), at, i + 1 - at}, nil
		}
	}
	return token{}, &SyntaxError{at, len(text) - at, `these double quotes are not closed: put another " after the value`}
}
