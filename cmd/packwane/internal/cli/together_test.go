package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"packwane/health/logbook"
	"packwane/store"
)

// program prepares a run of the built program on a store.
func program(path string, call ...string) *exec.Cmd {
	c := exec.Command(os.Args[0])
	c.Args = append([]string{"packwane", "--store", path}, call...)
	c.Env = append(os.Environ(), "NOW="+scriptNow)
	return c
}

// TestTogether lets the page and ten command lines work on one log at once.
// Each call is done or says in one line why not; what was done is there, and
// of amendments of one record none is lost without a word.
func TestTogether(t *testing.T) {
	dir := memoryDir(t)
	path := filepath.Join(dir, "log.store")
	k := &killTest{t: t, dir: dir}
	k.must(path, "import", k.write("base.jsonl", 60))
	serve := program(path, "serve", "--json", "--listen", "127.0.0.1:0")
	pipe, err := serve.StdoutPipe()
	if err == nil {
		err = serve.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	defer serve.Wait()
	defer serve.Process.Kill()
	var page struct{ URL string }
	if err := json.NewDecoder(pipe).Decode(&page); err != nil {
		t.Fatal(err)
	}
	const lines, turns = 10, 4
	turned := make(chan struct{}, lines*turns)
	read := make(chan struct{})
	go func() { readPage(t, page.URL, turned); close(read) }()

	done := make([][]string, lines) // what each command line was told is kept
	amended := make([]int, lines)
	var all sync.WaitGroup
	for line := range lines {
		all.Go(func() {
			for turn := range turns {
				if line%2 == 0 {
					at := fmt.Sprintf("at=2026-04-%02d %02d:00", 1+line, turn)
					if ok, out := together(t, path, "log", "ride", "distance=5km", "moving=20m", at, "--json"); ok {
						done[line] = append(done[line], idIn(t, out))
					}
				} else if ok, _ := together(t, path, "amend", "ride-7", fmt.Sprintf("distance=%d.%dkm", 10+line, turn)); ok {
					amended[line]++
				}
				turned <- struct{}{}
			}
		})
	}
	all.Wait()
	close(turned)
	<-read
	s, err := store.Open(path, store.ReadOnly)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	logged, changed := 0, 0
	for line := range lines {
		changed += amended[line]
		for _, id := range done[line] {
			logged++
			if _, err := s.Get(logbook.KindRide, id); err != nil {
				t.Errorf("%s was kept and is lost: %v", id, err)
			}
		}
	}
	revisions, err := s.Revisions(logbook.KindRide, "ride-7")
	if err != nil || len(revisions) != 1+changed {
		t.Errorf("%d revisions after %d amendments, %v", len(revisions), changed, err)
	}
	if logged != lines/2*turns || changed == 0 {
		t.Errorf("%d of %d rides logged, %d amendments", logged, lines/2*turns, changed)
	}
	if _, err := s.Verify(); err != nil {
		t.Error(err)
	}
	t.Logf("%d rides logged, %d of %d amendments taken", logged, changed, lines/2*turns)
}

// together makes one call, again where it has waited in vain, as it advises. It
// may fail only because another was first to change the record.
func together(t *testing.T, path string, call ...string) (ok bool, out string) {
	var text string
	var c *exec.Cmd
	var err error
	for {
		var o, e bytes.Buffer
		c = program(path, call...)
		c.Stdout, c.Stderr = &o, &e
		if err = c.Run(); err == nil {
			return true, o.String()
		}
		if text = e.String(); !strings.HasSuffix(text, "given up; wait until it is done and try again\n") {
			break
		}
	}
	if c.ProcessState.ExitCode() != statusFailed || strings.Count(text, "\n") != 1 || !strings.Contains(text, "ride-7") || !strings.Contains(text, "revision") {
		t.Errorf("%v: %v: %s", call, err, text)
	}
	return false, ""
}

func idIn(t *testing.T, out string) string {
	var doc map[string]any
	if err := json.Unmarshal([]byte(out), &doc); err != nil {
		t.Errorf("%v: %s", err, out)
		return ""
	}
	if r, ok := doc["record"].(map[string]any); ok {
		doc = r
	}
	id, _ := doc["id"].(string)
	return id
}

// readPage asks for the page each time that a command line has had its turn,
// and in the end until it has had an answer.
func readPage(t *testing.T, url string, turned chan struct{}) {
	for answers := 0; ; {
		if _, more := <-turned; !more && answers > 0 {
			return
		}
		r, err := http.Get(url)
		if err != nil {
			t.Error(err)
			return
		}
		body, _ := io.ReadAll(r.Body)
		r.Body.Close()
		switch {
		case r.StatusCode == http.StatusOK:
			answers++
		case r.StatusCode == http.StatusTooManyRequests: // it keeps a hasty reader off
		case !strings.Contains(string(body), "locked"):
			t.Errorf("the page answers %d: %.300s", r.StatusCode, body)
		}
	}
}
