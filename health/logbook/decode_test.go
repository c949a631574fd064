package logbook_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"os"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"packwane/health/logbook"
)

var update = flag.Bool("update", false, "write the golden files")

// refusedLines are single lines that are no record, each for one reason.
var refusedLines = []string{
	// the frame
	``, ` `, `{`, `{}`, `[]`, `null`, `"ride"`, `17`, `{"record"}`, `{"record":}`, `{"record":"ride"`, `{"record":"ride",}`, `{,"record":"ride"}`,
	`{"record":"ride"} {"record":"ride"}`, `{"record":"ride"}x`, `{"record":"ride"},`, `{'record':'ride'}`, `{record:"ride"}`, `{"record":"ride" "id":"a"}`,
	`{"record":"ride","id":"a`, `{"record":"ride","note":"a\`, `{"record":"ride","note":"\u12`, "{\"record\":\"ride\",\"note\":\"a\nb\"}",
	`// a comment`, `{"record":"ride"/**/}`,
	// names
	`{"record":"bike"}`, `{"record":"Ride"}`, `{"record":null}`, `{"record":1}`, `{"id":"a"}`, `{"record":"ride","record":"ride"}`,
	`{"Record":"ride"}`, `{"record":"ride","AT":"2026-05-03T18:30:00Z"}`, `{"record":"ride","distance":3}`, `{"record":"ride","charged_ah":3}`,
	`{"record":"ride","a\u001bb\nc":3}`, `{"record":"ride","id":"a","id":"a"}`, `{"record":"ride","min_v":null,"min_v":3}`, `{"record":"ride","min_v":3,"min_\u0076":3}`,
	// values
	`{"record":"ride","distance_km":"23.5"}`, `{"record":"ride","distance_km":true}`, `{"record":"ride","distance_km":{}}`, `{"record":"ride","distance_km":{"km":3}}`,
	`{"record":"ride","distance_km":[3]}`, `{"record":"ride","distance_km":NaN}`, `{"record":"ride","distance_km":Infinity}`, `{"record":"ride","distance_km":-Infinity}`,
	`{"record":"ride","distance_km":1e999}`, `{"record":"ride","distance_km":-1e999}`, `{"record":"ride","distance_km":-1}`, `{"record":"ride","distance_km":5001}`,
	`{"record":"ride","distance_km":+3}`, `{"record":"ride","distance_km":03}`, `{"record":"ride","distance_km":.5}`, `{"record":"ride","distance_km":5.}`, `{"record":"ride","distance_km":1e}`,
	`{"record":"ride","distance_km":0x1}`, `{"record":"ride","distance_km":3 4}`, `{"record":"ride","distance_km":-}`,
	`{"record":"ride","rev":0}`, `{"record":"ride","rev":1.5}`, `{"record":"ride","rev":"2"}`, `{"record":"ride","rev":99999999999}`, `{"record":"ride","removed":"true"}`, `{"record":"ride","removed":1}`,
	`{"record":"ride","at":"yesterday"}`, `{"record":"ride","at":"2026-05-03T18:30:00"}`, `{"record":"ride","at":1777800000}`, `{"record":"ride","at":""}`,
	`{"record":"pack","in_service":"2026-02-30"}`, `{"record":"pack","chemistry":"NMC"}`, `{"record":"pack","chemistry":""}`, `{"record":"pack","series":12.5}`,
	`{"record":"charge","full":"true"}`, `{"record":"charge","full":1}`, `{"record":"ride","pack":7}`, `{"record":"ride","pack":["a"]}`, `{"record":"ride","pack":"` + strings.Repeat("p", 200) + `"}`,
	`{"record":"check","group_v":3.9}`, `{"record":"check","group_v":"3.9 3.8"}`, `{"record":"check","group_v":[3.9,null]}`, `{"record":"check","group_v":[3.9,]}`, `{"record":"check","group_v":[[3.9]]}`,
	`{"record":"check","group_v":[3.9 3.8]}`, `{"record":"check","group_v":[3.9`, `{"record":"check","group_v":[3.9,39]}`, `{"record":"check","group_v":["3.9"]}`,
	// text
	"{\"record\":\"ride\",\"note\":\"\xff\"}", "{\"record\":\"ride\",\"note\":\"\\n\xc3\"}", "{\"record\":\"ride\",\"\xff\":1}", `{"record":"ride","note":"\ud800"}`, `{"record":"ride","note":"\udc00\ud800"}`, `{"record":"ride","note":"\ud83d\u0041"}`,
	`{"record":"ride","note":"\x41"}`, `{"record":"ride","note":"\u+123"}`, `{"record":"ride","note":"\u0000"}`, `{"record":"ride","note":"\u001b[31m"}`, `{"record":"ride","route":"a\nb"}`,
}

// The texts of the refusals are kept in a golden file: a rider reads them.
func TestRefusedLines(t *testing.T) {
	var b strings.Builder
	for _, text := range refusedLines {
		r, err := logbook.ParseJSON([]byte(text))
		var e *logbook.FieldError
		if !errors.As(err, &e) {
			t.Errorf("%q: %v, %v; want a *FieldError", text, r, err)
			continue
		}
		oneLine(t, err)
		shown := strconv.Quote(text)
		if len(shown) > 100 {
			shown = shown[:97] + `..."`
		}
		b.WriteString(shown + "\n\t" + err.Error() + "\n")
	}
	golden(t, "testdata/refused_lines.txt", b.String())
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, []byte(got), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s differs (go test -update writes it anew); got\n%s", name, got)
	}
}

func oneLine(t testing.TB, err error) {
	t.Helper()
	if text := err.Error(); text == "" || len(text) > 600 || strings.IndexFunc(text, unicode.IsControl) >= 0 {
		t.Errorf("not one short printable line: %q", text)
	}
}

func TestAcceptedLines(t *testing.T) {
	for text, want := range map[string]string{
		` { "record" : "ride" } `:                                     `{"record":"ride"}`,
		`{"note":"n","record":"ride"}`:                                `{"record":"ride","note":"n"}`,
		`{"record":"ride","distance_km":null}`:                        `{"record":"ride"}`,
		`{"record":"ride","distance_km":0}`:                           `{"record":"ride","distance_km":0}`,
		`{"record":"ride","distance_km":-0.0}`:                        `{"record":"ride","distance_km":0}`,
		`{"record":"ride","distance_km":1.5E1}`:                       `{"record":"ride","distance_km":15}`,
		`{"record":"ride","rev":1}`:                                   `{"record":"ride"}`,
		`{"record":"ride","rev":2.0}`:                                 `{"record":"ride","rev":2}`,
		`{"record":"ride","removed":false}`:                           `{"record":"ride"}`,
		`{"record":"ride","rider":""}`:                                `{"record":"ride"}`,
		`{"r\u0065cord":"r\u0069de","note":"\ud83d\ude80\u00e9\/\b"}`: "",
		`{"record":"ride","note":"\ud83d\ude80\u00e9\/\n"}`:           `{"record":"ride","note":"🚀é/\n"}`,
		`{"record":"check","group_v":[]}`:                             `{"record":"check"}`,
		`{"record":"check","group_v":[ 3.9 , 4e0 ]}`:                  `{"record":"check","group_v":[3.9,4]}`,
		`{"record":"charge","full":false}`:                            `{"record":"charge","full":false}`,
	} {
		r, err := logbook.ParseJSON([]byte(text))
		if want == "" { // a backspace is a control character
			if err == nil {
				t.Errorf("%s is accepted", text)
			}
			continue
		}
		if err != nil || line(r) != want {
			t.Errorf("%s: %v, %v; want %s", text, r, err, want)
		}
	}
}

// agree compares what we read from a line with what encoding/json reads.
func agree(t *testing.T, text []byte, r logbook.Record) {
	t.Helper()
	if !json.Valid(text) {
		t.Fatalf("encoding/json does not take %q", text)
	}
	var theirs map[string]any
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	if err := dec.Decode(&theirs); err != nil {
		t.Fatalf("encoding/json: %v: %q", err, text)
	}
	if theirs["record"] != r.Kind().String() {
		t.Fatalf("a %v from %q", r.Kind(), text)
	}
	delete(theirs, "record")
	for name, v := range theirs {
		f, ok := logbook.FieldNamed(r.Kind(), name)
		if !ok {
			t.Fatalf("%q has a field %q that is none", text, name)
		}
		if got := f.Text(r); !sameValue(f, got, v) {
			t.Fatalf("%s is %q here and %v there, in %q", name, got, v, text)
		}
	}
	for _, f := range logbook.Fields(r.Kind()) {
		if _, given := theirs[f.Name]; !given && f.Present(r) {
			t.Fatalf("%s is made up from %q", f.Name, text)
		}
	}
}

// sameValue compares the text of a CSV cell with a value of encoding/json.
func sameValue(f logbook.Field, cell string, v any) bool {
	switch v := v.(type) {
	case nil:
		return cell == ""
	case bool:
		return cell == strconv.FormatBool(v) || f.Name == "removed" && !v && cell == ""
	case string:
		if f.Type == logbook.TypeTime {
			return sameInstant(cell, v)
		}
		return cell == v
	case json.Number:
		if f.Name == "rev" && cell == "" {
			cell = "1"
		}
		return sameNumber(cell, v.String())
	case []any:
		cells := strings.Fields(cell)
		if len(cells) != len(v) {
			return false
		}
		for i := range v {
			if n, ok := v[i].(json.Number); !ok || !sameNumber(cells[i], n.String()) {
				return false
			}
		}
		return true
	}
	return false
}

func sameNumber(a, b string) bool {
	x, err1 := strconv.ParseFloat(a, 64)
	y, err2 := strconv.ParseFloat(b, 64)
	return err1 == nil && err2 == nil && x == y
}

func TestAgreesWithEncodingJSON(t *testing.T) {
	for _, k := range logbook.Kinds {
		for _, r := range []logbook.Record{minimal(t, k), full(t, k)} {
			text := logbook.AppendJSON(nil, r)
			agree(t, text, parse(t, string(text)))
		}
	}
}

// TestParserParsesAsParseJSON reads records of every kind in turn into the same
// memory: nothing is left of one in the next.
func TestParserParsesAsParseJSON(t *testing.T) {
	lines := []string{
		`{"record":"ride","id":"a","pack":"fern","at":"2026-05-03T18:30:00+02:00","distance_km":12.5,"stop":"limit","rev":3,"note":"wet"}`,
		`{"record":"check","id":"b","pack":"fern","at":"2026-05-04T18:30:00Z","group_v":[4.1,4.2],"removed":true}`,
		`{"record":"ride","id":"c","pack":"moss","at":"2026-05-05T18:30:00Z","ambient_c":-3}`,
		`{"record":"check","id":"d","pack":"moss","at":"2026-05-06T18:30:00Z"}`,
		`{"record":"ride","id":"e","pack":"moss","at":"tomorrow"}`,
		`{"id":"f","record":"charge","pack":"moss","at":"2026-05-07T18:30:00Z","full":true}`,
		`{"record":"board","id":"plank","mass_kg":11}`,
		`{"record":"board","id":"deck"}`,
		`{"record":"charge","id":"g","pack":"moss","at":"2026-05-08T18:30:00Z"}`,
	}
	var again logbook.Parser
	for _, line := range lines {
		want, wantErr := logbook.ParseJSON([]byte(line))
		got, err := again.ParseJSON([]byte(line))
		if fmt.Sprint(err) != fmt.Sprint(wantErr) || err == nil && !reflect.DeepEqual(got, want) {
			t.Errorf("%s\ngives %+v, %v\nwant %+v, %v", line, got, err, want, wantErr)
		}
	}
	first, _ := again.ParseJSON([]byte(lines[0]))
	if second, _ := again.ParseJSON([]byte(lines[2])); first != second {
		t.Error("the second ride took memory of its own")
	}
}
