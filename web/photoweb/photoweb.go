// Package photoweb takes photos from the tablet's camera and shows them.
package photoweb

import (
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/go-chi/chi/v5"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/photo"
	"rampside/internal/picture"
	"rampside/web/ui"
)

const (
	// arrive is how long a photo may take to come over a bad line.
	arrive = 2 * time.Minute
	// aside is what the other fields of the form may weigh, and inMemory how
	// much of the photo is held in memory instead of a temporary file.
	aside    = 16 << 10
	inMemory = 1 << 20
)

type pages struct {
	kit    *ui.Kit
	photos *photo.Service
}

// Mount registers the pages of photos.
func Mount(r chi.Router, kit *ui.Kit, photos *photo.Service) {
	p := pages{kit, photos}
	kit.Get(r, "/photos/{photo}", actor.ReadCards, p.show(false))
	kit.Get(r, "/photos/{photo}/small", actor.ReadCards, p.show(true))
	kit.Post(r, "/lines/{line}/photos", actor.Work, p.add)
	kit.Post(r, "/photos/{photo}/strike", actor.Work, p.strike)
}

func (p pages) show(small bool) ui.Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		id, err := ui.PathID[photo.ID](r, "photo")
		if err != nil {
			return err
		}
		ph, err := p.photos.Get(r.Context(), ui.Who(r.Context()), id)
		if err != nil {
			return err
		}
		key := ph.Blob
		if small {
			key = ph.Thumb
		}
		h := w.Header()
		// What a photo's number shows never changes, but only for who may see it.
		h.Set("Cache-Control", "private, max-age=86400, immutable")
		h.Set("Vary", "Cookie")
		h.Set("ETag", `"`+key.String()+`"`)
		if r.Header.Get("If-None-Match") == h.Get("ETag") {
			w.WriteHeader(http.StatusNotModified)
			return nil
		}
		body, size, err := p.photos.Open(r.Context(), ph, small)
		if err != nil {
			return err
		}
		defer func() { _ = body.Close() }()
		h.Set("Content-Type", "image/jpeg")
		h.Set("Content-Disposition", `inline; filename="photo-`+ui.Itoa(id)+`.jpg"`)
		h.Set("Content-Length", strconv.FormatInt(size, 10))
		w.WriteHeader(http.StatusOK)
		_, _ = io.Copy(w, body) // a failure is a browser that went away
		return nil
	}
}

// add takes a posted photo. The rest of the form comes with it: the key, a
// caption, and where to go back to.
func (p pages) add(w http.ResponseWriter, r *http.Request) error {
	line, err := ui.PathID[jobcard.LineID](r, "line")
	if err != nil {
		return err
	}
	file, err := readUpload(w, r)
	if r.MultipartForm != nil {
		defer func() { _ = r.MultipartForm.RemoveAll() }()
	}
	f := ui.ReadForm(r)
	back := f.Str("back", 200)
	if err == nil {
		defer func() { _ = file.Close() }()
		var who actor.Actor
		if who, err = ui.Writer(r); err != nil {
			return err
		}
		in := photo.AddInput{LineID: line, Caption: f.Str("caption", jobcard.MaxShort)}
		if err = f.Err(); err == nil {
			var done photo.Added
			if done, err = p.photos.Add(r.Context(), who, in, file); err == nil {
				p.kit.Flash(w, "Photo kept")
				return ui.SeeOther(w, r, orCard(back, done))
			}
		}
	}
	if k := apperr.KindOf(err); k != apperr.Invalid && k != apperr.TooLarge {
		return err
	}
	if !f.Take(err) {
		f.Fail(picture.Field, "%s", err.Error())
	}
	page := p.kit.Page(r, "The photo was not kept", "/floor")
	return p.kit.Render(w, r, apperr.KindOf(err).Status(), retryPage(page, f, r.URL.Path, back))
}

func orCard(back string, a photo.Added) string {
	if ui.LocalPath(back) == "/" {
		return "/cards/" + ui.Itoa(a.CardID) + "#line-" + ui.Itoa(a.LineID)
	}
	return back
}

// readUpload takes the multipart form apart, bounded before anything of it is
// kept, and gives the photo's file.
func readUpload(w http.ResponseWriter, r *http.Request) (multipart.File, error) {
	rc := http.NewResponseController(w)
	// A writer without deadlines has none to move.
	_ = rc.SetReadDeadline(time.Now().Add(arrive))
	_ = rc.SetWriteDeadline(time.Now().Add(arrive + 30*time.Second))
	r.Body = http.MaxBytesReader(w, r.Body, picture.MaxBytes+aside)
	r.PostForm = url.Values{}
	if err := r.ParseMultipartForm(inMemory); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return nil, tooLarge()
		}
		return nil, &apperr.Error{
			Kind: apperr.Invalid, Message: "the photo did not arrive in one piece", Cause: err,
			Fields: map[string]string{picture.Field: "the photo did not arrive in one piece; please send it again"},
		}
	}
	file, head, err := r.FormFile(picture.Field)
	if err != nil {
		return nil, apperr.Field(picture.Field, "choose a photo first")
	}
	if head.Size > picture.MaxBytes {
		_ = file.Close()
		return nil, tooLarge()
	}
	return file, nil
}

func tooLarge() error {
	e := apperr.Field(picture.Field, "a photo may be at most 15 MB")
	e.Kind = apperr.TooLarge
	return e
}

func (p pages) strike(w http.ResponseWriter, r *http.Request) error {
	id, err := ui.PathID[photo.ID](r, "photo")
	if err != nil {
		return err
	}
	who, err := ui.Writer(r)
	if err != nil {
		return err
	}
	done, err := p.photos.Strike(r.Context(), who, id)
	if err != nil {
		return err
	}
	p.kit.Flash(w, "Photo taken off the card")
	return ui.SeeOther(w, r, orCard(ui.ReadForm(r).Str("back", 200), done))
}
