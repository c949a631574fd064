package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

const readmeFile = "../../../../README.md"

func readme(t *testing.T) string {
	t.Helper()
	b, err := os.ReadFile(readmeFile)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// fenced returns the fenced blocks of a language, in their order.
func fenced(text, language string) []string {
	var out []string
	for _, m := range regexp.MustCompile("(?ms)^```"+language+"\n(.*?)^```$").FindAllStringSubmatch(text, -1) {
		out = append(out, m[1])
	}
	return out
}

// TestReadmeSession runs every call of the README's shell blocks, one after the
// other, from an empty store.
func TestReadmeSession(t *testing.T) {
	text := readme(t)
	var script bytes.Buffer
	calls := 0
	for _, block := range fenced(text, "sh") {
		for line := range strings.Lines(strings.ReplaceAll(block, "\\\n", " ")) {
			if !strings.HasPrefix(line, "packwane ") {
				t.Fatalf("a line of a shell block is no call: %q", line)
			}
			calls++
			script.WriteString("status 0 " + line)
		}
	}
	if calls < 8 {
		t.Fatalf("the README has %d calls", calls)
	}
	script.WriteString("exists pictures/reed-a-sheet.png pictures/reed-a-range.png data/packwane/log.store log.jsonl\n" +
		"status 0 packwane health reed-a --json\nstdout '\"range_km\": \\{'\n")
	table := fenced(text, "csv")
	if len(table) != 1 {
		t.Fatalf("the README has %d tables, want 1", len(table))
	}
	script.WriteString("-- rides.csv --\n" + table[0])
	file := filepath.Join(t.TempDir(), "readme.txtar")
	if err := os.WriteFile(file, script.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Files: []string{file},
		Setup: func(env *testscript.Env) error {
			env.Setenv("NOW", scriptNow)
			env.Setenv("XDG_DATA_HOME", env.WorkDir+"/data")
			return nil
		},
		Cmds: commands,
	})
}

// TestReadmeCalls: the README opens with the job and the two commands, and
// every call that it names exists with its flags.
func TestReadmeCalls(t *testing.T) {
	text := readme(t)
	head, _, _ := strings.Cut(text, "\n## ")
	if !strings.HasPrefix(head, "# packwane\n\npackwane is for ") || !strings.Contains(head, "\n    go run ./cmd/packwane demo\n    go test ./...\n") {
		t.Errorf("the README opens with\n%s", head)
	}
	a, _, _ := newTestApp("", false)
	root := newRoot(a)
	root.InitDefaultHelpCmd()
	for _, m := range regexp.MustCompile("`(packwane [a-z][^`]*)`").FindAllStringSubmatch(text, -1) {
		checkExample(t, root, m[1])
	}
	cron := regexp.MustCompile(`(?m)^0 7 \* \* \*  (packwane .*)$`).FindStringSubmatch(text)
	if cron == nil || !strings.HasPrefix(cron[1], "packwane due --exit-code ") {
		t.Fatalf("the README's line for cron is %q", cron)
	}
	checkExample(t, root, cron[1])
	for i, line := range strings.Split(text, "\n") {
		if columns(line) > mostColumns {
			t.Errorf("line %d has %d columns", i+1, columns(line))
		}
	}
}
