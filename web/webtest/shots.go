package webtest

import (
	"context"
	"os"
	"path/filepath"
	"strings"

	cd "github.com/chromedp/chromedp"
)

// ShotsEnv names the folder that screenshots are saved in; without it none
// are.
const ShotsEnv = "RAMPSIDE_SHOTS"

// Screenshot saves the whole page as drawn on a screen of that size.
func (b *Browser) Screenshot(name string, w, h int) {
	b.t.Helper()
	if os.Getenv(ShotsEnv) == "" {
		return
	}
	b.Size(w, h)
	b.shot(name)
}

func (b *Browser) shot(name string) {
	if os.Getenv(ShotsEnv) == "" {
		return
	}
	ctx, cancel := context.WithTimeout(b.ctx, stuck)
	defer cancel()
	png, err := cd.Run(ctx, cd.FullScreenshot(100))
	if err != nil {
		b.t.Logf("screenshot %s: %v", name, err)
		return
	}
	b.save(name+".png", png)
}

func (b *Browser) save(name string, data []byte) {
	dir := os.Getenv(ShotsEnv)
	name = strings.Map(func(c rune) rune {
		if c == '/' || c == ' ' {
			return '-'
		}
		return c
	}, name)
	if err := os.MkdirAll(dir, 0o755); err != nil {
		b.t.Logf("save %s: %v", name, err)
		return
	}
	if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
		b.t.Logf("save %s: %v", name, err)
	}
}

// PrintPDF prints the page on A4, saves it with the screenshots, and gives it
// back.
func (b *Browser) PrintPDF(name string) []byte {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, stuck)
	defer cancel()
	pdf, err := cd.Run(ctx, cd.PrintToPDF(cd.PDFPaper(cd.PaperA4), cd.PDFPreferCSSPageSize(), cd.PDFPrintBackground()))
	if err != nil {
		b.t.Fatalf("print: %v", err)
	}
	if os.Getenv(ShotsEnv) != "" {
		b.save(name+".pdf", pdf)
	}
	return pdf
}

// Dump saves the page at every size, by day and by night, and on paper.
func (b *Browser) Dump(name string) {
	b.t.Helper()
	if os.Getenv(ShotsEnv) == "" {
		return
	}
	for _, s := range Screens {
		b.Night(false)
		b.Screenshot(name+"-"+s.Name, s.Width, s.Height)
		b.Night(true)
		b.shot(name + "-" + s.Name + "-night")
	}
	b.Night(false)
	b.Size(1280, 800)
	b.PrintPDF(name)
}
