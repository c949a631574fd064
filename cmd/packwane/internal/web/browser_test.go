package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
)

// The tests in a real browser take two minutes and skip with a clear word where
// PACKWANE_BROWSER is not set or there is none. PACKWANE_AXE names a folder with axe.min.js of axe-core 4.14, PACKWANE_SHOTS
// one for screenshots.

// browser is one tab of a real browser on one site, with what it said and
// asked for.
type browser struct {
	*testing.T
	ctx  context.Context
	site *site

	mu      sync.Mutex
	console []string
	hosts   map[string]bool
	ignore  []string // console messages that are expected
}

func findBrowser(t *testing.T) string {
	t.Helper()
	if os.Getenv("PACKWANE_BROWSER") == "" {
		t.Skip("PACKWANE_BROWSER is not set: the page was not tried in a browser, which takes two minutes")
	}
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("no browser: the page was not tried in one (Debian's chromium will do)")
	return ""
}

// newBrowser opens a tab of wide by high pixels.
func newBrowser(t *testing.T, s *site, wide, high int64) *browser {
	t.Helper()
	path := findBrowser(t)
	dir, err := os.MkdirTemp("", "packwane-browser-")
	if err != nil {
		t.Fatal(err)
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.WSURLReadTimeout(3*time.Minute), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.UserDataDir(dir), chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-background-networking", true), chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	alloc, endAlloc := chromedp.NewExecAllocator(context.Background(), options...)
	tab, endTab := chromedp.NewContext(alloc)
	ctx, cancel := context.WithTimeout(tab, 15*time.Minute)
	b := &browser{T: t, ctx: ctx, site: s, hosts: map[string]bool{}}
	t.Cleanup(func() {
		cancel()
		endTab()
		endAlloc()
		os.RemoveAll(dir) // in the temporary folder; a last file of the browser may stay
		b.judge()
	})
	b.do(chromedp.EmulateViewport(wide, high), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true}) // as a window in front has it
		return err
	}))
	b.listen()
	return b
}

func (b *browser) do(steps ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.shot("failed")
		b.Fatalf("%v; the page says %q", err, b.text("main"))
	}
}

// listen collects what the console says and which hosts are asked.
func (b *browser) listen() {
	if err := chromedp.Listen(b.ctx, func(ev any) {
		if e, ok := ev.(*network.EventRequestWillBeSent); ok {
			if u, err := url.Parse(e.Request.URL); err == nil && u.Host != "" {
				b.mu.Lock()
				b.hosts[u.Host] = true
				b.mu.Unlock()
			}
		}
	}); err != nil {
		b.Fatal(err)
	}
	if _, err := chromedp.Call(b.ctx, network.Enable, network.EnableParams{}); err != nil {
		b.Logf("network: %v", err)
	}
	messages := chromedp.Console(b.ctx)
	go func() {
		for m, err := range messages {
			if err != nil {
				return
			}
			if m.Type == chromedp.ConsoleError || m.Type == chromedp.ConsoleException || m.Type == chromedp.ConsoleWarning {
				b.mu.Lock()
				b.console = append(b.console, fmt.Sprintf("%s: %s (%s)", m.Type, m.Text, m.URL))
				b.mu.Unlock()
			}
		}
	}()
}

// judge fails the test for a console message that was not expected and for a
// request to another host.
func (b *browser) judge() {
	b.mu.Lock()
	defer b.mu.Unlock()
messages:
	for _, m := range b.console {
		for _, ok := range b.ignore {
			if strings.Contains(m, ok) {
				continue messages
			}
		}
		b.Errorf("the console says %s", m)
	}
	for host := range b.hosts {
		if host != b.site.address() {
			b.Errorf("the page asked %s", host)
		}
	}
}

// expect makes console messages that hold the text no fault.
func (b *browser) expect(text string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.ignore = append(b.ignore, text)
}

func (b *browser) open(path string) {
	b.Helper()
	b.do(chromedp.Navigate(b.site.url + path))
}

func (b *browser) text(css string) string {
	out, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.querySelector(`+quoted(css)+`)?.innerText ?? ""`))
	if err != nil {
		return err.Error()
	}
	return out
}

func evaluate[T any](b *browser, script string) T {
	b.Helper()
	out, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		b.Fatalf("%v in %s", err, script)
	}
	return out
}

// until waits for a condition in JavaScript, or a promise of one, across pages.
func (b *browser) until(condition string) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 3*time.Minute)
	defer cancel()
	script := `(async () => { while (!(await (` + condition + `))) await new Promise(done => setTimeout(done, 25)); return true; })()`
	for {
		_, err := chromedp.Run(ctx, chromedp.Evaluate[bool](script, chromedp.EvalAwaitPromise))
		if err == nil {
			return
		}
		if ctx.Err() != nil || !strings.Contains(err.Error(), "-32000") { // which says that the page has gone
			b.shot("failed")
			b.Fatalf("%s did not come true (%v); the page says %q", condition, err, b.text("main"))
		}
	}
}

func quoted(text string) string {
	q, _ := json.Marshal(text)
	return string(q)
}

// dark prefers a dark or a light scheme.
func (b *browser) dark(on bool) {
	b.Helper()
	scheme := "light"
	if on {
		scheme = "dark"
	}
	params := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, params)
		return err
	}))
}

// script turns script on or off.
func (b *browser) script(on bool) {
	b.Helper()
	b.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := chromedp.Call(ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on})
		return err
	}))
}

// shot writes a screenshot of the whole page where somebody wants to look.
func (b *browser) shot(name string) {
	dir := os.Getenv("PACKWANE_SHOTS")
	if dir == "" {
		return
	}
	ctx, cancel := context.WithTimeout(b.ctx, 20*time.Second)
	defer cancel()
	png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, strings.ReplaceAll(b.Name(), "/", "-")+"-"+name+".png"), png, 0o644)
	}
	if err != nil {
		b.Logf("no screenshot: %v", err)
	}
}

// axe holds the page against axe-core's rules for WCAG 2.2 A and AA and its
// best practices.
func (b *browser) axe(where string) {
	b.Helper()
	dir := os.Getenv("PACKWANE_AXE")
	if dir == "" {
		return
	}
	source, err := os.ReadFile(filepath.Join(dir, "axe.min.js"))
	if err != nil {
		b.Fatal(err)
	}
	if _, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](string(source)+"; true")); err != nil {
		b.Fatal(err)
	}
	found := evaluate[string](b, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]})
		.then(r => r.violations.map(v => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map(n => n.target.join(" ") + " " + n.failureSummary).join(" | ")).join("\n"))`)
	if found != "" {
		b.Errorf("%s: axe finds\n%s", where, found)
	}
}
