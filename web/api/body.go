package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"
	"unicode/utf8"

	"rampside/internal/apperr"
)

const (
	// bodyMax is the most that a request may carry, in bytes: a booking of 60
	// lines with a note to each is half of it. Photos have their own limit.
	bodyMax = 1 << 20
	// depthMax is how deep a body may nest; the deepest that means anything is 5.
	depthMax = 20
)

// takeBody reads the body before anything else does, so that what cannot be
// meant is refused in one place: too much, not JSON, not text, nested without
// end, a field twice. An operation without a body takes none, or {}.
func takeBody(r *http.Request, taken, required bool) error {
	b, err := io.ReadAll(io.LimitReader(r.Body, bodyMax+1))
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large) || len(b) > bodyMax:
		return apperr.New(apperr.TooLarge, "a request may carry %d KB at most", bodyMax>>10)
	case err != nil:
		return malformed("the request did not arrive in one piece")
	}
	r.Body = io.NopCloser(bytes.NewReader(b))
	r.ContentLength = int64(len(b))
	trimmed := bytes.TrimSpace(b)
	if len(trimmed) == 0 {
		if required {
			return malformed("this needs a body of JSON")
		}
		return nil
	}
	if err := isJSONType(r.Header.Get("Content-Type")); err != nil {
		return err
	}
	if err := plainJSON(b); err != nil {
		return err
	}
	if !taken && string(trimmed) != "{}" {
		return fieldError("", "this takes no body")
	}
	return nil
}

func isJSONType(ct string) error {
	if ct == "" {
		return nil
	}
	kind, params, err := mime.ParseMediaType(ct)
	if err != nil || kind != "application/json" || params["charset"] != "" && !strings.EqualFold(params["charset"], "utf-8") {
		return &statusError{status: http.StatusUnsupportedMediaType, kind: "unsupported-media-type", message: "send JSON in UTF-8: Content-Type: application/json"}
	}
	return nil
}

// plainJSON refuses what would be taken otherwise than it was meant. Go's
// reader lets each of these through: bytes that are not UTF-8 and halves of
// surrogate pairs become question marks, and of a field sent twice the last
// one wins (RFC 8259 section 4 calls that unpredictable).
func plainJSON(b []byte) error {
	if !utf8.Valid(b) {
		return malformed("the body holds bytes that are not UTF-8")
	}
	if !json.Valid(b) {
		return malformed(notJSON(b))
	}
	ownMark := bytes.ContainsRune(b, utf8.RuneError) || bytes.Contains(bytes.ToLower(b), []byte(`\ufffd`))
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	var open []map[string]bool // the keys of each open object; nil for an array
	key := false               // whether a key comes next
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return malformed(notJSON(b))
		}
		switch t := t.(type) {
		case json.Delim:
			switch t {
			case '{', '[':
				if len(open) == depthMax {
					return malformed(fmt.Sprintf("the body nests deeper than %d levels", depthMax))
				}
				var keys map[string]bool
				if t == '{' {
					keys = map[string]bool{}
				}
				open = append(open, keys)
			default:
				open = open[:len(open)-1]
			}
			key = len(open) > 0 && open[len(open)-1] != nil
			continue
		case string:
			if strings.ContainsRune(t, 0) || !ownMark && strings.ContainsRune(t, utf8.RuneError) {
				return malformed("the body holds a character that is no text")
			}
			if key {
				keys := open[len(open)-1]
				if keys[t] {
					return malformed(fmt.Sprintf("the body has the field %q twice", shorten(t)))
				}
				keys[t] = true
				key = false
				continue
			}
		}
		key = len(open) > 0 && open[len(open)-1] != nil
	}
}

// notJSON says where a body stops being JSON.
func notJSON(b []byte) string {
	var syntax *json.SyntaxError
	if err := json.Unmarshal(b, new(json.RawMessage)); errors.As(err, &syntax) {
		return fmt.Sprintf("the body is not JSON: see around byte %d", syntax.Offset)
	}
	return "the body is not JSON"
}

// readJSON is encoding/json with its complaints put into plain words.
func readJSON(b []byte, v any) error {
	err := json.Unmarshal(b, v)
	var odd *json.UnmarshalTypeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &odd) && strings.HasPrefix(odd.Value, "number"):
		return errors.New("a number is too large, or is not written as plain digits")
	}
	return errors.New("this cannot be read")
}

func shorten(s string) string {
	const most = 60
	if utf8.RuneCountInString(s) > most {
		return string([]rune(s)[:most]) + "…"
	}
	return s
}
