package apperr

import "net/http"

// Status maps a kind to its HTTP status code, in the one place where that is
// decided.
func (k Kind) Status() int {
	switch k {
	case Invalid:
		return http.StatusUnprocessableEntity
	case NotFound:
		return http.StatusNotFound
	case Conflict:
		return http.StatusConflict
	case Forbidden:
		return http.StatusForbidden
	case Unsigned:
		return http.StatusUnauthorized
	case TooMany:
		return http.StatusTooManyRequests
	case TooLarge:
		return http.StatusRequestEntityTooLarge
	default:
		return http.StatusInternalServerError
	}
}
