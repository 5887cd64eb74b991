package ui

import (
	"encoding/base64"
	"net/http"
	"time"

	"github.com/go-chi/chi/v5"
)

// What a browser remembers for a page besides who is signed in: the word that
// follows a change, and whether to show day or night.

const (
	flashCookie = "rampside-flash"
	flashMax    = 300
	lightCookie = "rampside-light"
)

// Flash leaves a short message for the next page that is opened, such as
// "Promise noted". It travels in a cookie, so it holds nothing about people.
func (k *Kit) Flash(w http.ResponseWriter, message string) {
	k.setCookie(w, k.prefixed(flashCookie), base64.RawURLEncoding.EncodeToString([]byte(message)), k.now().Add(time.Minute))
}

func (k *Kit) readFlash(r *http.Request) string {
	c, err := r.Cookie(k.prefixed(flashCookie))
	if err != nil {
		return ""
	}
	b, err := base64.RawURLEncoding.DecodeString(c.Value)
	if err != nil {
		return ""
	}
	s, problem := clean(string(b), flashMax, false)
	if problem != "" {
		return ""
	}
	return s
}

// dropFlash takes a message back once a page has shown it.
func (k *Kit) dropFlash(w http.ResponseWriter, r *http.Request) {
	if _, err := r.Cookie(k.prefixed(flashCookie)); err == nil && wantsPage(r) {
		k.setCookie(w, k.prefixed(flashCookie), "", time.Time{})
	}
}

func (k *Kit) light(r *http.Request) string {
	c, err := r.Cookie(k.prefixed(lightCookie))
	if err == nil && (c.Value == "day" || c.Value == "night") {
		return c.Value
	}
	return ""
}

// Routes registers what the frame itself needs: the choice of day or night.
func (k *Kit) Routes(r chi.Router) {
	k.Public(r, http.MethodPost, "/light", "day or night is a choice of the screen, kept in its own cookie", k.postLight)
}

func (k *Kit) postLight(w http.ResponseWriter, r *http.Request) error {
	f := ReadForm(r)
	light := f.OneOf("light", "day", "night", "device")
	f.Required("light")
	if err := f.Err(); err != nil {
		return err
	}
	if light == "device" {
		k.setCookie(w, k.prefixed(lightCookie), "", time.Time{})
	} else {
		k.setCookie(w, k.prefixed(lightCookie), light, k.now().AddDate(1, 0, 0))
	}
	return SeeOther(w, r, f.Str("back", 2000))
}
