package trace

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/klauspost/compress/zstd"
)

func comma(s string) string { return strings.ReplaceAll(s, ".", ",") }

// semicolonsToCommas makes decimal commas, then commas between the fields too.
func semicolonsToCommas(s string) string { return strings.ReplaceAll(comma(s), ";", ",") }

func wide(text string, big, mark bool) string {
	var b bytes.Buffer
	units := utf16.Encode([]rune(text))
	if mark {
		units = append([]uint16{0xfeff}, units...)
	}
	for _, u := range units {
		if big {
			b.WriteByte(byte(u >> 8))
		}
		b.WriteByte(byte(u))
		if !big {
			b.WriteByte(byte(u >> 8))
		}
	}
	return b.String()
}

func packGzip(text string) string {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	w.Write([]byte(text))
	w.Close()
	return b.String()
}

func packZstd(t testing.TB, text string) string {
	w, err := zstd.NewWriter(nil)
	if err != nil {
		t.Fatal(err)
	}
	return string(w.EncodeAll([]byte(text), nil))
}

// TestForms reads one trace in the forms in which loggers write it: every one
// must give the same rows, charge and energy.
func TestForms(t *testing.T) {
	rows := outing().rows
	base := read(t, plain.write(rows))
	at := func(s sample) time.Time { return testStart.Add(time.Duration((s.t - 1) * 1e9)) }
	late := time.Date(2026, 5, 3, 22, 30, 0, 0, time.UTC)
	atLate := func(s sample) time.Time { return late.Add(time.Duration((s.t - 1) * 1e9)) }
	nums := func(s sample) string { return fmt.Sprintf("%.4f,%.4f", s.v, s.i) }
	forms := map[string]struct {
		text  string
		opts  []func(*Options)
		start time.Time
	}{
		"semicolons and commas": {text: csvForm{header: "Zeit [s];Spannung [V];Strom [A];Temperatur [°C]", row: func(s sample) string {
			return comma(fmt.Sprintf("%.3f;%.4f;%.4f;%.2f", s.t, s.v, s.i, s.tempC))
		}}.write(rows)},
		"latin-1": {text: csvForm{header: "Zeit [s];Spannung [V];Strom [A];Temperatur [\xb0C]", row: func(s sample) string {
			return comma(fmt.Sprintf("%.3f;%.4f;%.4f;%.2f", s.t, s.v, s.i, s.tempC))
		}}.write(rows)},
		"tabs, carriage returns": {text: csvForm{header: "Test Time (s)\tVoltage (V)\tCurrent (A)", lineEnd: "\r\n", row: func(s sample) string {
			return fmt.Sprintf("%.3f\t%.4f\t%.4f", s.t, s.v, s.i)
		}}.write(rows)},
		"bars": {text: csvForm{header: "t|U|I", row: func(s sample) string { return fmt.Sprintf("%.3f|%.4f|%.4f", s.t, s.v, s.i) }}.write(rows)},
		"spaces in columns": {text: csvForm{header: "  time_s   volts    amps", row: func(s sample) string {
			return fmt.Sprintf("%10.3f %9.4f %9.4f", s.t, s.v, s.i)
		}}.write(rows)},
		"padded commas": {text: csvForm{header: "time_s, volts, amps ", row: func(s sample) string {
			return fmt.Sprintf("%.3f, %.4f, %.4f ", s.t, s.v, s.i)
		}}.write(rows)},
		"quoted": {text: csvForm{header: `"Time, total (s)","Pack voltage (V)","Pack current (A)","remark"`, row: func(s sample) string {
			return fmt.Sprintf(`"%.3f","%.4f","%.4f","a ""b"", c"`, s.t, s.v, s.i)
		}}.write(rows)},
		"quoted decimal commas": {text: csvForm{header: `"Zeit (s)","Spannung (V)","Strom (A)"`, row: func(s sample) string {
			return semicolonsToCommas(fmt.Sprintf("\"%.3f\";\"%.4f\";\"%.4f\"", s.t, s.v, s.i))
		}}.write(rows)},
		"preamble": {text: csvForm{preamble: "Logger 7\r\nSerial;12;34\n\nPack: kite, 10s\n", header: "time_s,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%.3f,", s.t) + nums(s)
		}}.write(rows)},
		"preamble with the start": {text: csvForm{preamble: "Logger 7, started 2026-05-03 08:00:00\nPack: kite\n", header: "time_s,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%.3f,", s.t) + nums(s)
		}}.write(rows), opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}},
		"remarks": {text: csvForm{preamble: "# made by hand\n", header: "# time_s,voltage_v,current_a", row: func(s sample) string {
			return fmt.Sprintf("%.3f,", s.t) + nums(s)
		}}.write(rows)},
		"a row of units": {text: csvForm{header: "Time,Voltage,Current,Temperature\ns,mV,mA,degC", row: func(s sample) string {
			return fmt.Sprintf("%.3f,%.1f,%.1f,%.2f", s.t, 1000*s.v, 1000*s.i, s.tempC)
		}}.write(rows)},
		"milli": {text: csvForm{header: "time_ms,pack_mv,pack_ma", row: func(s sample) string {
			return fmt.Sprintf("%.0f,%.1f,%.1f", 1000*s.t, 1000*s.v, 1000*s.i)
		}}.write(rows)},
		"minutes": {text: csvForm{header: "time (min),voltage (V),current (A)", row: func(s sample) string {
			return fmt.Sprintf("%.9f,", s.t/60) + nums(s)
		}}.write(rows)},
		"machine names":    {text: csvForm{header: "test_time_second,voltage_volt,current_ampere,temperature_t1_celsius", row: plain.row}.write(rows)},
		"preferred labels": {text: csvForm{header: "Test Time / s,Voltage / V,Current / A,Temperature T1 / degC", row: plain.row}.write(rows)},
		"machine names, dated": {text: csvForm{header: "test_time_second,unix_time_second,voltage_volt,current_ampere", row: func(s sample) string {
			return fmt.Sprintf("%.3f,%d,", s.t, at(s).Unix()) + nums(s)
		}}.write(rows), opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}},
		"epoch": {text: csvForm{header: "timestamp,voltage,current", row: func(s sample) string { return fmt.Sprintf("%d,", at(s).Unix()) + nums(s) }}.write(rows),
			opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}},
		"epoch in ms": {text: csvForm{header: "ts;batt_volts;batt_amps", row: func(s sample) string {
			return fmt.Sprintf("%d;%.4f;%.4f", at(s).UnixMilli(), s.v, s.i)
		}}.write(rows), opts: []func(*Options){withMap(t, "time=ts"), func(o *Options) { o.Start = time.Time{} }}},
		"iso": {text: csvForm{header: "datetime,voltage,current", row: func(s sample) string { return at(s).Format("2006-01-02T15:04:05.000Z") + "," + nums(s) }}.write(rows),
			opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}},
		"iso with offset": {text: csvForm{header: "datetime,voltage,current", row: func(s sample) string {
			return at(s).In(time.FixedZone("", 7200)).Format("2006-01-02 15:04:05-07:00") + "," + nums(s)
		}}.write(rows), opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}},
		"dots": {text: csvForm{header: "Datum Uhrzeit;Spannung (V);Strom (A)", row: func(s sample) string {
			return at(s).Format("02.01.2006 15:04:05") + ";" + comma(fmt.Sprintf("%.4f;%.4f", s.v, s.i))
		}}.write(rows), opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}},
		"slashes": {text: csvForm{header: "time,voltage,current", row: func(s sample) string { return at(s).Format("01/02/2006 03:04:05 PM") + "," + nums(s) }}.write(rows),
			opts: []func(*Options){withMap(t, "dates=mdy"), func(o *Options) { o.Start = time.Time{} }}},
		"date and time apart": {text: csvForm{header: "Date,Time,Voltage,Current", row: func(s sample) string { return atLate(s).Format("2006-01-02,15:04:05") + "," + nums(s) }}.write(rows),
			opts: []func(*Options){func(o *Options) { o.Start = time.Time{} }}, start: late},
		"clock over midnight": {text: csvForm{header: "clock,voltage,current", row: func(s sample) string { return atLate(s).Format("15:04:05") + "," + nums(s) }}.write(rows),
			opts: []func(*Options){func(o *Options) { o.Start = time.Date(2026, 5, 3, 0, 0, 0, 0, time.UTC) }}, start: late},
		"elapsed": {text: csvForm{header: "elapsed,voltage,current", row: func(s sample) string {
			n := int(s.t)
			return fmt.Sprintf("%d:%02d:%02d,", n/3600, n/60%60, n%60) + nums(s)
		}}.write(rows)},
		"no headers":          {text: csvForm{row: plain.row}.write(rows), opts: []func(*Options){withMap(t, "time=#1,voltage=#2,current=#3,pack_temp=#4")}},
		"positive discharges": {text: csvForm{header: "time_s,voltage_v,current_a", row: func(s sample) string { return fmt.Sprintf("%.3f,%.4f,%.4f", s.t, s.v, -s.i) }}.write(rows)},
		"two columns of current": {text: csvForm{header: "time_s,voltage_v,charge_current_a,discharge_current_a", row: func(s sample) string {
			return fmt.Sprintf("%.3f,%.4f,%.4f,%.4f", s.t, s.v, max(s.i, 0), max(-s.i, 0))
		}}.write(rows)},
		"words for the direction": {text: csvForm{header: "time_s,voltage_v,current_a,state", row: func(s sample) string {
			state := "Idle"
			if s.i > 0 {
				state = "CC_Chg"
			} else if s.i < 0 {
				state = "DChg"
			}
			return fmt.Sprintf("%.3f,%.4f,%.4f,%s", s.t, s.v, max(s.i, -s.i), state)
		}}.write(rows)},
		"a channel of several": {text: func() string {
			return csvForm{header: "channel,time_s,voltage_v,current_a", row: func(s sample) string {
				return fmt.Sprintf("2,%.3f,%.4f,%.4f\n5,%.3f,3.7,0.1", s.t, s.v, s.i, s.t)
			}}.write(rows)
		}(), opts: []func(*Options){withMap(t, "channel=2")}},
		"channels side by side": {text: csvForm{header: "time_s,CH1 voltage (V),CH1 current (A),CH2 voltage (V),CH2 current (A)", row: func(s sample) string {
			return fmt.Sprintf("%.3f,3.9,0.2,%.4f,%.4f", s.t, s.v, s.i)
		}}.write(rows), opts: []func(*Options){withMap(t, "channel=CH2")}},
		"utf-8 with a mark":   {text: "\xef\xbb\xbf" + plain.write(rows)},
		"utf-16le":            {text: wide(plain.write(rows), false, true)},
		"utf-16be":            {text: wide(plain.write(rows), true, true)},
		"utf-16 without mark": {text: wide(plain.write(rows), false, false)},
		"gzip":                {text: packGzip(plain.write(rows))},
		"zstd":                {text: packZstd(t, plain.write(rows))},
		"gzip of utf-16":      {text: packGzip(wide(plain.write(rows), false, true))},
	}
	for name, f := range forms {
		t.Run(name, func(t *testing.T) {
			r := read(t, f.text, f.opts...)
			if r.Rows != base.Rows {
				t.Errorf("rows = %d, want %d", r.Rows, base.Rows)
			}
			// The forms round differently: to 1e-6.
			near(t, "charged Ah", r.ChargedAh, base.ChargedAh, 1e-6)
			near(t, "charged Wh", r.ChargedWh, base.ChargedWh, 1e-6)
			near(t, "discharged Ah", r.DischargedAh, base.DischargedAh, 1e-6)
			near(t, "discharged Wh", r.DischargedWh, base.DischargedWh, 1e-6)
			if kinds(r) != kinds(base) {
				t.Errorf("segments = %s, want %s", kinds(r), kinds(base))
			}
			want := testStart
			if !f.start.IsZero() {
				want = f.start
			}
			if !r.Dated || !r.Segments[0].Start.Equal(want) {
				t.Errorf("start = %v, want %v", r.Segments[0].Start, want)
			}
			if again := read(t, f.text, append(f.opts, func(o *Options) { o.Map = r.Mapping })...); again.ChargedAh != r.ChargedAh || again.Rows != r.Rows {
				t.Errorf("the map that was read, %q, reads the file another way", r.Mapping)
			}
		})
	}
}
