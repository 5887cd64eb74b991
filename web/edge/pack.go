package edge

import (
	"net/http"

	"github.com/klauspost/compress/gzhttp"
	"github.com/klauspost/compress/gzip"
)

// packFrom is the least size in bytes at which packing a response saves a
// packet.
const packFrom = 1024

// compress packs pages and JSON. Everything else goes as it is: pictures and
// documents are packed already, static files carry their own packed form, and
// a live stream must never wait in a buffer. A page holds no secret beside
// what a stranger can make it repeat, so its size gives nothing away.
func compress() (func(http.Handler) http.Handler, error) {
	wrap, err := gzhttp.NewWrapper(
		gzhttp.MinSize(packFrom),
		gzhttp.CompressionLevel(gzip.BestSpeed),
		gzhttp.EnableZstd(false),
		gzhttp.ContentTypes([]string{"text/html", "application/json", "application/problem+json", "text/csv"}),
	)
	if err != nil {
		return nil, err
	}
	return func(next http.Handler) http.Handler { return wrap(next) }, nil
}
