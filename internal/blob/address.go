package blob

import (
	"errors"
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/s3utils"
)

// usualRegion is what services that have no regions answer to.
const usualRegion = "us-east-1"

// s3Address is an s3:// address, taken apart.
type s3Address struct {
	bucket, prefix   string
	endpoint, region string
	insecure         bool
	lookup           minio.BucketLookupType
}

// parseS3 reads an address as OpenS3 has it. A setting that it does not know
// is an error: a slip of the pen must not end in a default.
func parseS3(address string) (s3Address, error) {
	u, err := url.Parse(address)
	if err != nil {
		// Not err itself: it repeats the address, keys and all if somebody
		// put them there.
		return s3Address{}, errors.New("the S3 store's address cannot be read: s3://bucket/prefix?endpoint=host:port&region=name")
	}
	if u.User != nil {
		return s3Address{}, errors.New("the S3 store's keys do not belong in its address, which is shown and logged: give them by themselves")
	}
	at := s3Address{bucket: u.Host}
	if err := s3utils.CheckValidBucketNameStrict(at.bucket); err != nil {
		return s3Address{}, fmt.Errorf("the S3 store's bucket: %w", err)
	}
	if p := strings.Trim(u.Path, "/"); p != "" {
		for part := range strings.SplitSeq(p, "/") {
			if part == "" || part == "." || part == ".." {
				return s3Address{}, errors.New("the S3 store's prefix has an empty part, a . or a .. in it")
			}
		}
		at.prefix = p + "/"
	}
	return at, at.settings(u.Query())
}

func (at *s3Address) settings(q url.Values) (err error) {
	style := ""
	for name, values := range q {
		v := values[len(values)-1]
		switch name {
		case "endpoint":
			at.endpoint = v
		case "region":
			at.region = v
		case "style":
			style = v
		case "insecure":
			if at.insecure, err = strconv.ParseBool(v); err != nil {
				return errors.New("the S3 store's address: insecure is 1 or 0")
			}
		default:
			return fmt.Errorf("the S3 store's address: there is no setting %q; there are endpoint, region, insecure and style", name)
		}
	}
	if strings.Contains(at.endpoint, "/") {
		return errors.New("the S3 store's endpoint is host:port, without https:// and without a path")
	}
	if at.endpoint == "" && at.region == "" {
		return errors.New("the S3 store's address needs an endpoint (host:port) or a region")
	}
	switch style {
	case "host":
		at.lookup = minio.BucketLookupDNS
	case "path":
		at.lookup = minio.BucketLookupPath
	case "":
		at.lookup = minio.BucketLookupPath
		if at.endpoint == "" {
			at.lookup = minio.BucketLookupAuto
		}
	default:
		return errors.New("the S3 store's address: style is host or path")
	}
	if at.endpoint == "" {
		at.endpoint = "s3." + at.region + ".amazonaws.com"
	}
	if at.region == "" {
		at.region = usualRegion
	}
	return nil
}
