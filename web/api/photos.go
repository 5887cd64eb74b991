package api

import (
	"context"
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"strconv"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humachi"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/jobcard"
	"rampside/internal/photo"
	"rampside/internal/picture"
)

const (
	// photoArrives is how long a photo may take to come over a bad line.
	photoArrives = 2 * time.Minute
	// photoAside is what the rest of the form may weigh, and photoInMemory how
	// much of the photo is held in memory instead of a temporary file.
	photoAside    = 16 << 10
	photoInMemory = 1 << 20
)

// PhotoAt is one photo in the address.
type PhotoAt struct {
	Photo photo.ID `path:"photo" minimum:"1"`
}

// Photo is what is noted of a photo.
type Photo struct {
	ID      photo.ID       `json:"id"`
	CardID  jobcard.CardID `json:"card_id"`
	LineID  jobcard.LineID `json:"line_id"`
	Width   int            `json:"width"`
	Height  int            `json:"height"`
	Caption string         `json:"caption,omitempty"`
	At      Time           `json:"at"`
}

// PhotoChanged is the result of a change to a photo.
type PhotoChanged struct {
	ID     photo.ID       `json:"photo_id"`
	CardID jobcard.CardID `json:"card_id"`
	LineID jobcard.LineID `json:"line_id"`
}

func (a *API) photoOperations() {
	a.uploadOperation()
	register(a, operation{
		method: http.MethodGet, path: "/photos/{photo}", id: "get-photo", need: actor.ReadCards, tag: "Photos",
		short: "What is noted of a photo",
	}, func(ctx context.Context, who actor.Actor, in *PhotoAt) (Photo, error) {
		p, err := a.Photos.Get(ctx, who, in.Photo)
		return Photo{p.ID, p.CardID, p.LineID, p.Width, p.Height, p.Caption, at(p.At)}, err
	})
	a.photoFile("/photos/{photo}/file", "get-photo-file", "The photo itself, as JPEG", false)
	a.photoFile("/photos/{photo}/small", "get-photo-small", "The photo in small, as JPEG", true)
	register(a, operation{
		method: http.MethodPost, path: "/photos/{photo}/strike", id: "strike-photo", need: actor.Work, tag: "Photos",
		short: "Take a photo off the card", long: "It stays on record. Whoever took it may, and whoever edits cards.",
	}, func(ctx context.Context, who actor.Actor, in *PhotoAt) (PhotoChanged, error) {
		p, err := a.Photos.Strike(ctx, who, in.Photo)
		return PhotoChanged(p), err
	})
}

// photoFile registers the download of a photo.
func (a *API) photoFile(path, id, short string, small bool) {
	d := a.declare(operation{method: http.MethodGet, path: path, id: id, need: actor.ReadCards, tag: "Photos", short: short})
	d.Responses["200"] = &huma.Response{Description: "The photo.", Content: map[string]*huma.MediaType{
		"image/jpeg": {Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}},
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *PhotoAt) (*huma.StreamResponse, error) {
		p, err := a.Photos.Get(ctx, whoAsks(ctx), in.Photo)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		file, size, err := a.Photos.Open(ctx, p, small)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &huma.StreamResponse{Body: func(c huma.Context) {
			defer func() { _ = file.Close() }()
			// What a photo's number shows never changes, but only for who may see it.
			c.SetHeader("Cache-Control", "private, max-age=86400, immutable")
			c.SetHeader("Vary", "Authorization")
			c.SetHeader("Content-Type", "image/jpeg")
			c.SetHeader("Content-Disposition", `inline; filename="photo-`+strconv.FormatInt(int64(p.ID), 10)+`.jpg"`)
			c.SetHeader("Content-Length", strconv.FormatInt(size, 10))
			_, _ = io.Copy(c.BodyWriter(), file) // a failure is a client that went away
		}}, nil
	})
}

// uploadOperation takes a photo. Its body is a form and not JSON, and far
// larger than any other, so it is read here.
func (a *API) uploadOperation() {
	o := operation{
		method: http.MethodPost, path: "/lines/{line}/photos", id: "add-photo", need: actor.Work, tag: "Photos", status: http.StatusCreated,
		short: "Put a photo on a line",
		long: "JPEG, PNG or WebP, at most 15 MB and 50 megapixels. It is turned upright and written anew: where it was taken, and everything else " +
			"that cannot be seen in it, is gone.",
	}
	d := a.declare(o)
	d.Middlewares = huma.Middlewares{func(ctx huma.Context, next func(huma.Context)) {
		r, w := humachi.Unwrap(ctx)
		who, err := a.enter(r, o)
		var file multipart.File
		if err == nil {
			file, err = takePhoto(w, r)
		}
		if r.MultipartForm != nil {
			defer func() { _ = r.MultipartForm.RemoveAll() }()
		}
		if err != nil {
			a.Fail(w, asked(r, who), err)
			return
		}
		defer func() { _ = file.Close() }()
		noStore(w)
		ctx = huma.WithValue(ctx, whoKey{}, who)
		next(huma.WithValue(ctx, photoKey{}, &upload{file, r.FormValue("caption")}))
	}}
	huma.Register(a.huma, d, func(ctx context.Context, in *LineAt) (*answer[PhotoChanged], error) {
		u, ok := ctx.Value(photoKey{}).(*upload)
		if !ok {
			return nil, a.refuse(ctx, errors.New("the photo was lost on its way through the server"), nil)
		}
		p, err := a.Photos.Add(ctx, whoAsks(ctx), photo.AddInput{LineID: in.Line, Caption: u.caption}, u.file)
		if err != nil {
			return nil, a.refuse(ctx, err, nil)
		}
		return &answer[PhotoChanged]{PhotoChanged(p)}, nil
	})
	// Described afterwards: huma would look for JSON in it.
	a.huma.OpenAPI().Paths[o.path].Post.RequestBody = photoForm()
}

func photoForm() *huma.RequestBody {
	schema := &huma.Schema{Type: huma.TypeObject, Required: []string{picture.Field}, Properties: map[string]*huma.Schema{
		picture.Field: {Type: huma.TypeString, Format: "binary", Description: "The photo."},
		"caption":     {Type: huma.TypeString, MaxLength: ptr(jobcard.MaxShort)},
	}}
	return &huma.RequestBody{Required: true, Content: map[string]*huma.MediaType{"multipart/form-data": {Schema: schema}}}
}

type photoKey struct{}

type upload struct {
	file    multipart.File
	caption string
}

// takePhoto takes the form apart, bounded before anything of it is kept.
func takePhoto(w http.ResponseWriter, r *http.Request) (multipart.File, error) {
	rc := http.NewResponseController(w)
	// A writer without deadlines has none to move.
	_ = rc.SetReadDeadline(time.Now().Add(photoArrives))
	_ = rc.SetWriteDeadline(time.Now().Add(photoArrives + 30*time.Second))
	r.Body = http.MaxBytesReader(w, r.Body, picture.MaxBytes+photoAside)
	var large *http.MaxBytesError
	switch err := r.ParseMultipartForm(photoInMemory); {
	case errors.Is(err, http.ErrNotMultipart) || errors.Is(err, http.ErrMissingBoundary):
		return nil, &statusError{
			status: http.StatusUnsupportedMediaType, kind: "unsupported-media-type", message: "send a form: Content-Type: multipart/form-data",
		}
	case errors.As(err, &large):
		return nil, photoTooLarge()
	case err != nil:
		return nil, malformed("the photo did not arrive in one piece; please send it again")
	}
	for name := range r.MultipartForm.Value {
		if name != "caption" {
			return nil, fieldError(shorten(name), "there is no such field")
		}
	}
	file, head, err := r.FormFile(picture.Field)
	if err != nil {
		return nil, apperr.Field(picture.Field, "the photo is missing")
	}
	if head.Size > picture.MaxBytes {
		_ = file.Close()
		return nil, photoTooLarge()
	}
	return file, nil
}

func photoTooLarge() error {
	e := apperr.Field(picture.Field, "a photo may be at most 15 MB")
	e.Kind = apperr.TooLarge
	return e
}
