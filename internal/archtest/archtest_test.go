// Package archtest holds the shape of the code: which package may import
// which, which package writes which table, and how long a file may grow.
package archtest

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const root = "../.."

// pure packages know no database, no clock and no web.
var pure = []string{"money", "hours", "workday", "plate", "vin", "vatno", "variance", "caution", "fact", "fit", "lateness", "fifo", "length", "tyre", "wheel", "brake", "assembly", "pricing", "einvoice", "particulars", "ledger", "export", "paper", "forecast", "forecast/backtest", "forecast/law", "forecast/learn", "forecast/schedule", "forecast/score", "signature"}

// base is what every feature stands on.
var base = []string{"apperr", "actor", "config", "pg", "migrations", "change", "blob", "picture", "qr", "live"}

// arrows says which features a feature may import, besides pure and base. A
// package of the tree that is in none of these tables fails the test.
var arrows = map[string][]string{
	"account":  {},
	"garage":   {},
	"roster":   {"account", "garage"},
	"customer": {},
	"vehicle":  {"customer"},
	"jobcard":  {"customer", "vehicle", "garage"},
	"fitment":  {"jobcard", "vehicle"},
	"clocking": {"jobcard", "garage", "roster", "vehicle"},
	"floor":    {"jobcard", "clocking", "garage", "roster", "vehicle"},
	"photo":    {"jobcard"},
	"stores":   {"jobcard", "garage"},
	"quote":    {"jobcard", "garage", "customer", "vehicle", "link", "post"},
	"bill":     {"jobcard", "customer", "vehicle", "garage", "link", "post"},
	"link":     {"jobcard"},
	"post":     {"jobcard"},
	"diary":    {"jobcard", "roster", "garage", "vehicle", "customer", "clocking"},
	"dayend":   {"jobcard", "clocking", "roster", "garage", "vehicle", "customer"},
	"outlook":  {"jobcard", "clocking", "roster", "garage", "vehicle", "stores"},
	"books":    {"bill", "quote", "customer", "jobcard", "garage", "post"},
	"handover": {"jobcard", "garage", "customer", "vehicle", "link", "post"},
	"demo":     {"account", "garage", "roster", "customer", "vehicle", "jobcard", "clocking", "fitment", "stores", "outlook", "bill", "quote", "handover", "post"},
}

// baseArrows says what the base may import of itself.
var baseArrows = map[string][]string{
	"apperr": {}, "actor": {"apperr"}, "config": {}, "migrations": {}, "live": {}, "qr": {},
	"pg": {"apperr", "migrations"}, "pg/pgserver": {}, "pg/pgtest": {"pg", "pg/pgserver", "migrations"},
	"change": {"apperr", "actor", "pg"}, "blob": {"apperr"}, "picture": {"apperr"},
}

// pureArrows says what pure packages may import of each other.
var pureArrows = map[string][]string{
	"fifo": {"money"}, "lateness": {}, "signature": {},
	"pricing": {"money", "workday"}, "einvoice": {"money", "pricing", "workday"}, "particulars": {"money", "vatno", "workday"}, "ledger": {"money", "workday"}, "export": {"money", "workday"}, "paper": {"qr"},
	"variance": {"money", "hours"}, "hours": {}, "money": {}, "workday": {}, "plate": {}, "vin": {}, "vatno": {}, "caution": {}, "fact": {"caution", "vin", "tyre"}, "fit": {"fact", "caution"},
	"forecast":          {"forecast/law", "forecast/learn", "forecast/schedule", "forecast/score"},
	"forecast/backtest": {"forecast", "forecast/law", "forecast/learn", "forecast/score"},
	"forecast/law":      {}, "forecast/learn": {"forecast/law"}, "forecast/schedule": {}, "forecast/score": {"forecast/law"},
	"length": {}, "tyre": {"length"}, "wheel": {"length"}, "brake": {"length"}, "assembly": {"length", "tyre", "wheel", "brake", "fact", "fit"},
}

// writers is the one package that writes each table; others may read it.
var writers = map[string]string{
	"event": "change", "write_key": "change",
	"garage": "garage", "vat_rate": "garage", "labour_type": "garage", "operation": "garage", "supplier": "garage",
	"staff": "account", "device": "account", "session": "account", "api_token": "account", "sign_in_failure": "account", "sign_in_place": "account",
	"shift_pattern": "roster", "absence": "roster", "attendance": "roster",
	"customer": "customer", "vehicle": "vehicle", "keeper": "vehicle", "vehicle_fact": "vehicle",
	"card": "jobcard", "line": "jobcard", "line_order": "jobcard", "consent": "jobcard", "part": "jobcard", "snag": "jobcard",
	"finding": "jobcard", "second_check": "jobcard", "fit_check": "jobcard",
	"card_adjustment": "jobcard", "card_menu": "jobcard", "card_menu_line": "jobcard", "card_fee": "jobcard", "test_maximum": "garage",
	"part_fit": "fitment", "box_reading": "fitment", "part_number_link": "fitment", "fit_waiver": "fitment",
	"customer_link": "link", "link_secret": "link", "letter": "post", "letter_file": "post",
	"purchase": "stores", "purchase_line": "stores", "arrival": "stores", "part_return": "stores", "part_credit": "stores",
	"stock_item": "stores", "stock_lot": "stores", "stock_move": "stores", "stock_count": "stores",
	"bill_terms": "bill", "bill_series": "bill", "bill_party": "bill", "no_charge": "bill", "bill": "bill", "bill_line": "bill", "bill_line_adjust": "bill", "bill_adjust": "bill",
	"bill_vat": "bill", "billed": "bill", "payment": "bill", "allocation": "bill", "deposit_vat": "bill",
	"outlook_setting": "outlook", "outlook_order": "outlook", "outlook": "outlook", "outlook_model": "outlook", "outlook_accepted": "outlook", "forecast_made": "outlook",
	"quote": "quote", "quote_version": "quote", "quote_job": "quote", "quote_line": "quote", "quote_adjustment": "quote", "quote_vat": "quote",
	"quote_finding": "quote", "quote_photo": "quote", "quote_sending": "quote", "quote_withdrawal": "quote", "quote_answer": "quote", "quote_answer_job": "quote",
	"handover": "handover", "handover_item": "handover", "acknowledgement": "handover", "due_interval": "handover",
	"clocking": "clocking", "clocking_correction": "clocking", "caution_read": "clocking", "photo": "photo",
}

type source struct {
	path    string // slash-separated, from the root of the project
	pkg     string // its folder
	imports []string
	text    string
	lines   int
}

// sources reads the Go files of the tree. The walk is in this process, since
// what `go list` prints would be kept by the test cache.
func sources(t *testing.T) []source {
	t.Helper()
	var out []source
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && (d.Name() == "node_modules" || d.Name() == ".git" || d.Name() == "testdata" || d.Name() == "zz"):
			return fs.SkipDir
		case d.IsDir() || !strings.HasSuffix(path, ".go"):
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, b, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		s := source{path: filepath.ToSlash(rel), pkg: filepath.ToSlash(filepath.Dir(rel)), text: string(b), lines: strings.Count(string(b), "\n")}
		for _, i := range f.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			s.imports = append(s.imports, p)
		}
		out = append(out, s)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 100 {
		t.Fatalf("only %d files were found: the walk is wrong", len(out))
	}
	return out
}

func isTest(path string) bool { return strings.HasSuffix(path, "_test.go") }

// testOnly are packages made for tests: they may import what they like, and
// only tests may import them.
func testOnly(pkg string) bool {
	return strings.HasPrefix(pkg, "internal/pg/pgtest") || strings.HasPrefix(pkg, "web/webtest") || pkg == "internal/jobcard/cardtest" ||
		pkg == "internal/clocking/clocktest" || pkg == "internal/archtest" || pkg == "internal/app/apptest" || pkg == "internal/app/wholeday" || strings.HasPrefix(pkg, "web/ui/specimen")
}

func TestImportsRunOneWay(t *testing.T) {
	for _, s := range sources(t) {
		if isTest(s.path) || testOnly(s.pkg) {
			continue
		}
		for _, imp := range s.imports {
			to, ours := strings.CutPrefix(imp, "rampside/")
			if !ours {
				if strings.HasPrefix(s.pkg, "internal/") && isPure(s.pkg) && strings.Contains(imp, "pgx") {
					t.Errorf("%s is pure and imports %s", s.path, imp)
				}
				continue
			}
			if testOnly(to) {
				t.Errorf("%s imports %s, which is for tests", s.path, to)
			}
			if why := refused(s.pkg, to); why != "" {
				t.Errorf("%s: %s", s.path, why)
			}
		}
	}
}

func isPure(pkg string) bool { return slices.Contains(pure, strings.TrimPrefix(pkg, "internal/")) }

// refused says why from may not import to; empty when it may.
func refused(from, to string) string {
	name, isInternal := strings.CutPrefix(from, "internal/")
	target := strings.TrimPrefix(to, "internal/")
	isBase := slices.Contains(base, target) || strings.HasPrefix(target, "pg/")
	switch {
	case strings.HasPrefix(from, "cmd/"):
		if to != "internal/app" && to != "internal/config" && to != "internal/actor" {
			return from + " only parses the command line: it may not import " + to
		}
	case from == "internal/loadtest": // measures the program from outside and in
	case from == "internal/app":
		if strings.HasPrefix(to, "cmd/") {
			return "app may not import " + to
		}
	case from == "migrations", from == "static":
		return from + " may not import " + to
	case strings.HasPrefix(from, "web/"):
		return refusedWeb(from, to)
	case !isInternal:
		return from + " is in no table: say in archtest where it belongs"
	case slices.Contains(pure, name):
		if !slices.Contains(pureArrows[name], target) {
			return name + " is pure: it may not import " + to
		}
	case baseArrows[name] != nil:
		if !slices.Contains(baseArrows[name], target) {
			return name + " is base: it may not import " + to
		}
	case arrows[name] != nil:
		if !isBase && !slices.Contains(pure, target) && !slices.Contains(arrows[name], target) {
			return "no arrow from " + name + " to " + to
		}
	default:
		return from + " is in no table: say in archtest where it belongs"
	}
	return ""
}

func refusedWeb(from, to string) string {
	switch {
	case to == "internal/app", strings.HasPrefix(to, "cmd/"), to == "internal/demo", strings.HasPrefix(to, "internal/pg"):
		return from + " may not import " + to
	case from == "web/ui" || from == "web/edge":
		name := strings.TrimPrefix(to, "internal/")
		if strings.HasPrefix(to, "internal/") && arrows[name] != nil {
			return from + " is for every feature: it may not import " + to
		}
		if strings.HasPrefix(to, "web/") {
			return from + " may not import " + to
		}
	case to == "web/outlookui": // what is said of a car's promise is shown wherever the car is
	case strings.HasPrefix(to, "web/") && to != "web/ui":
		// Photos are taken on pages of other features, and how a verdict came
		// about is shown wherever there are parts.
		if to == "web/photoweb" && from == "web/floorweb" || to == "web/fitweb" && (from == "web/floorweb" || from == "web/cardweb") {
			return ""
		}
		return from + " may not import another feature's pages: " + to
	}
	return ""
}

var writes = regexp.MustCompile(`(?i)\b(?:insert\s+into|update|delete\s+from)\s+([a-z_]+)\b`)

func TestEachTableHasOneWriter(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range sources(t) {
		if isTest(s.path) || testOnly(s.pkg) || !strings.HasPrefix(s.pkg, "internal/") {
			continue
		}
		for _, m := range writes.FindAllStringSubmatch(s.text, -1) {
			table := strings.ToLower(m[1])
			owner, known := writers[table]
			if !known {
				continue // prose, or "for update of"
			}
			seen[table] = true
			if s.pkg != "internal/"+owner && sqlNear(s.text, m[0]) {
				t.Errorf("%s writes %s, which only %s may", s.path, table, owner)
			}
		}
	}
	for table := range writers {
		if !seen[table] {
			t.Errorf("nobody writes %s: is it in the table for nothing?", table)
		}
	}
}

// sqlNear tells a statement from prose in a comment: SQL is in lower case and
// not on a line that begins with //.
func sqlNear(text, match string) bool {
	for line := range strings.Lines(text) {
		if strings.Contains(line, match) && !strings.HasPrefix(strings.TrimSpace(line), "//") {
			return strings.ContainsAny(line, "`(=") || strings.HasPrefix(strings.TrimSpace(line), match)
		}
	}
	return false
}

// longest is how many lines a file that somebody wrote may have.
const longest = 600

func TestNoFileOutgrowsItsReader(t *testing.T) {
	for _, s := range sources(t) {
		if s.lines > longest && !strings.HasSuffix(s.path, "_templ.go") {
			t.Errorf("%s has %d lines: split it by concept", s.path, s.lines)
		}
	}
}

var vague = []string{"models", "utils", "common", "helpers", "services", "misc", "lib"}

func TestPackagesAreNamedForWhatTheyHold(t *testing.T) {
	for _, s := range sources(t) {
		if slices.Contains(vague, filepath.Base(s.pkg)) {
			t.Errorf("%s says nothing about what is in it", s.pkg)
		}
	}
}

var inline = regexp.MustCompile(`\sstyle=|<script[^>]*>[^<]|\son[a-z]+=\{|javascript:`)

func TestTemplatesKeepToTheContentSecurityPolicy(t *testing.T) {
	n := 0
	err := filepath.WalkDir(filepath.Join(root, "web"), func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() && d.Name() == "node_modules" {
			if err == nil {
				err = fs.SkipDir
			}
			return err
		}
		if d.IsDir() || !strings.HasSuffix(path, ".templ") {
			return nil
		}
		n++
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if m := inline.Find(b); m != nil {
			t.Errorf("%s has %q, which browsers refuse", path, m)
		}
		return nil
	})
	if err != nil || n == 0 {
		t.Fatalf("%d templates read, %v", n, err)
	}
}
