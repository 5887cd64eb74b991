package app

import (
	"bytes"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v3"

	"rampside/internal/config"
	"rampside/migrations"
)

const top = "../.."

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(top, path))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

type compose struct {
	Services map[string]struct {
		Image       string
		ReadOnly    bool `yaml:"read_only"`
		Tmpfs       []string
		Volumes     []string
		Ports       []string
		Environment map[string]string
		Build       struct{ Context, Dockerfile string }
		Healthcheck struct{ Test []string }
		DependsOn   map[string]struct{ Condition string } `yaml:"depends_on"`
	}
	Volumes map[string]any
}

func TestTheComposeFileIsClosedAndPinned(t *testing.T) {
	var c compose
	if err := yaml.NewDecoder(strings.NewReader(read(t, "docker-compose.yml"))).Decode(&c); err != nil {
		t.Fatal(err)
	}
	for name, s := range c.Services {
		if !s.ReadOnly || len(s.Tmpfs) == 0 {
			t.Errorf("%s: its root file system can be written to, or nothing can", name)
		}
		for _, v := range s.Volumes {
			if volume, _, _ := strings.Cut(v, ":"); !hasKey(c.Volumes, volume) {
				t.Errorf("%s: volume %q is not declared", name, v)
			}
		}
		for _, p := range s.Ports {
			if !strings.HasPrefix(p, "127.0.0.1:") {
				t.Errorf("%s: port %s is open to the network without HTTPS", name, p)
			}
		}
	}
	app, db := c.Services["app"], c.Services["db"]
	if !regexp.MustCompile(`^postgres:\d\d-`).MatchString(db.Image) {
		t.Errorf("the database's image %q is not pinned to a major version", db.Image)
	}
	if app.DependsOn["db"].Condition != "service_healthy" || len(db.Healthcheck.Test) == 0 {
		t.Error("the server does not wait for a healthy database")
	}
	if _, err := os.Stat(filepath.Join(top, app.Build.Context, app.Build.Dockerfile)); err != nil {
		t.Error(err)
	}
	for name := range app.Environment {
		if !slices.ContainsFunc(config.Settings, func(s config.Setting) bool { return s.Name == name }) {
			t.Errorf("%s is no setting", name)
		}
	}
}

func hasKey(m map[string]any, k string) bool {
	_, ok := m[k]
	return ok
}

func TestTheImageRunsAsNobodySpecialAndLooksAfterItself(t *testing.T) {
	text := read(t, "deploy/Dockerfile")
	_, last, _ := strings.Cut(text, "FROM debian")
	if !regexp.MustCompile(`(?m)^USER [1-9]\d*:[1-9]\d*$`).MatchString(last) {
		t.Error("the image runs as root")
	}
	if !strings.Contains(last, `HEALTHCHECK`) || !strings.Contains(last, `CMD ["rampside", "doctor", "--ready"]`) {
		t.Error("the image has no health check")
	}
	goMod := regexp.MustCompile(`(?m)^go (\d+\.\d+)`).FindStringSubmatch(read(t, "go.mod"))
	if goMod == nil || !strings.Contains(text, "FROM golang:"+goMod[1]) {
		t.Errorf("the image is built with another Go than go.mod's %v", goMod)
	}
	for _, m := range regexp.MustCompile(`RAMPSIDE_\w+`).FindAllString(text, -1) {
		if !slices.ContainsFunc(config.Settings, func(s config.Setting) bool { return s.Name == m }) {
			t.Errorf("%s is no setting", m)
		}
	}
}

func TestTheProxyExamplesKeepStreamsAliveAndMetricsInside(t *testing.T) {
	for path, wants := range map[string][]string{
		"deploy/Caddyfile":  {"flush_interval -1", "/metrics", "reverse_proxy localhost:8080"},
		"deploy/nginx.conf": {"proxy_buffering off", "location /metrics { return 404; }", "proxy_set_header X-Forwarded-For $remote_addr;", "proxy_set_header Host $host;", "client_max_body_size 20m"},
	} {
		text := read(t, path)
		for _, want := range wants {
			if !strings.Contains(text, want) {
				t.Errorf("%s has no %q", path, want)
			}
		}
		if strings.Count(text, "{") != strings.Count(text, "}") {
			t.Errorf("%s: braces do not match", path)
		}
	}
}

func TestTheSystemdUnitStopsTheServerBeforeItsDatabase(t *testing.T) {
	text := read(t, "deploy/rampside.service")
	for _, want := range []string{"KillMode=mixed", "User=rampside", "NoNewPrivileges=yes", "ProtectSystem=strict", "ExecStart=/usr/local/bin/rampside serve"} {
		if !strings.Contains(text, "\n"+want+"\n") {
			t.Errorf("no %s", want)
		}
	}
	for i, line := range strings.Split(text, "\n") {
		if line != "" && !strings.HasPrefix(line, "#") && !regexp.MustCompile(`^(\[\w+\]|\w+=.*)$`).MatchString(line) {
			t.Errorf("line %d is neither a section nor a setting: %q", i+1, line)
		}
	}
}

func TestTheScriptsParseAndStopAtTheFirstError(t *testing.T) {
	for _, name := range []string{"run.sh", "test.sh", "lib.sh"} {
		path := filepath.Join(top, "deploy", name)
		if out, err := exec.Command("bash", "-n", path).CombinedOutput(); err != nil {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
		text := read(t, "deploy/"+name)
		if name == "lib.sh" {
			continue
		}
		st, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		if st.Mode()&0o111 == 0 || !strings.Contains(text, "\nset -euo pipefail\n") || !strings.HasPrefix(text, "#!/usr/bin/env bash\n") {
			t.Errorf("%s cannot be run, or goes on after an error", name)
		}
	}
	if !strings.Contains(read(t, ".ci/run"), "deploy/test.sh") {
		t.Error(".ci/run does not run deploy/test.sh")
	}
}

func TestTheDoctorKnowsEveryExtensionThatTheSchemaNeeds(t *testing.T) {
	names, err := fs.Glob(migrations.FS, "*.up.sql")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, n := range names {
		b, err := fs.ReadFile(migrations.FS, n)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range regexp.MustCompile(`create extension (?:if not exists )?"?(\w+)`).FindAllSubmatch(bytes.ToLower(b), -1) {
			found++
			if !slices.Contains(extensions, string(m[1])) {
				t.Errorf("%s needs %s, which the doctor does not look for", n, m[1])
			}
		}
	}
	if found < len(extensions) {
		t.Errorf("the schema needs %d extensions, the doctor looks for %v", found, extensions)
	}
}
