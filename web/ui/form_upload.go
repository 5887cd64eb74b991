package ui

import (
	"mime/multipart"
	"net/http"
)

// ReadUpload reads a form with files, of at most limit bytes in all, which are
// held in memory. Call it before Writer.
func ReadUpload(r *http.Request, limit int64) *Form {
	f := NewForm(nil)
	r.Body = http.MaxBytesReader(nil, r.Body, limit)
	if err := r.ParseMultipartForm(limit); err != nil {
		r.PostForm, r.MultipartForm = nil, nil
		f.fatal = readError(err)
		return f
	}
	f.fill(r.PostForm)
	f.files = r.MultipartForm.File
	return f
}

// Files gives what was attached at a field, at most count files. Name and type
// in a file's header are the sender's own words.
func (f *Form) Files(name string, count int) []*multipart.FileHeader {
	files := f.files[f.prefix+name]
	if len(files) > count {
		f.Fail(name, "at most %d files at once, please", count)
		return nil
	}
	return files
}
