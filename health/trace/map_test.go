package trace

import (
	"strings"
	"testing"
)

func TestParseMapping(t *testing.T) {
	m, err := ParseMapping(`current=I batt,current_unit=mA, sign=-,voltage="U, pack",time=#1,dates=dmy,delimiter=semicolon,decimal=comma,channel=Kanal=2`)
	if err != nil {
		t.Fatal(err)
	}
	want := `time=#1,voltage="U, pack",current="I batt",current_unit=mA,channel=Kanal=2,sign=-,dates=dmy,delimiter=semicolon,decimal=comma`
	if got := m.String(); got != want {
		t.Errorf("map %s\nwant %s", got, want)
	}
	over, _ := ParseMapping("current=amps,sign=+")
	if got := m.With(over).String(); !strings.Contains(got, "current=amps,channel") || !strings.Contains(got, "sign=+") {
		t.Errorf("with another current: %s", got)
	}
	for text, part := range map[string]string{
		"current":             "want key=value",
		"amps=3":              "want one of",
		"sign=plus":           "want + ",
		"dates=iso":           "want ymd, dmy or mdy",
		"delimiter=,":         "want a value",
		"delimiter=x":         "want comma",
		"decimal=.":           "want point or comma",
		"current_unit=parsec": "a unit of current",
		"state_unit=V":        "a unit of state",
		`current="a`:          "closing quote",
		`current="a" b`:       "comma behind",
		"current=":            "want a value",
	} {
		_, err := ParseMapping(text)
		if err == nil || !strings.Contains(err.Error(), part) {
			t.Errorf("%q: %v, want %q", text, err, part)
		}
	}
	for _, k := range Keys() {
		if _, err := ParseMapping(k + "=+"); err != nil && strings.Contains(err.Error(), "want one of") {
			t.Errorf("key %q is listed and not known", k)
		}
	}
}

// FuzzMapping: what parses prints back to the same map.
func FuzzMapping(f *testing.F) {
	f.Add(`current="I batt",sign=-`)
	f.Add(`time=#1,groups=a|b|c,channel="x=y"`)
	f.Add(`voltage="a\"b",pack_temp_unit=F`)
	f.Fuzz(func(t *testing.T, s string) {
		m, err := ParseMapping(s)
		if err != nil {
			return
		}
		again, err := ParseMapping(m.String())
		if err != nil || again != m {
			t.Errorf("%q prints %q, which reads %v %v", s, m.String(), again, err)
		}
	})
}

// TestColumns lists headers as loggers write them (invented) and which column
// each role must find.
func TestColumns(t *testing.T) {
	for _, c := range []struct{ header, want string }{
		{"Test Time / s,Voltage / V,Current / A,Ambient Temperature / degC", "time=Test Time / s voltage=Voltage / V current=Current / A ambient=Ambient Temperature / degC"},
		{"test_time_second,voltage_volt,current_ampere,power_watt,temperature_t1_celsius", "time=test_time_second voltage=voltage_volt current=current_ampere pack_temp=temperature_t1_celsius"},
		{"Step Time (s),Total Time (s),U (V),I (A),Step", "time=Total Time (s) voltage=U (V) current=I (A)"},
		{"ms,motor_current,battery_current,battery_voltage,temp_mosfet,temp_motor,speed_kmh", "time=ms voltage=battery_voltage current=battery_current speed=speed_kmh"},
		{"Uhrzeit;Akku-Spannung [mV];Akku-Strom [mA];Geschwindigkeit [km/h]", "time=Uhrzeit voltage=Akku-Spannung [mV] current=Akku-Strom [mA] speed=Geschwindigkeit [km/h]"},
		{"Temps (s);Tension (V);Courant (A);Température (°C)", "time=Temps (s) voltage=Tension (V) current=Courant (A) pack_temp=Température (°C)"},
		{"timestamp,packVoltage,packCurrent,maxCellVoltage,minCellVoltage,soc", "time=timestamp voltage=packVoltage current=packCurrent"},
		{"ms_today;input_voltage;current_motor;current_in;temp_mos_max", "time=ms_today voltage=input_voltage current=current_in"},
		{"time_s,volts,current_in_a,current_out_a", "time=time_s voltage=volts charge_current=current_in_a discharge_current=current_out_a"},
		{"Time (s),Volt,Amp,Cell1,Cell2,Cell3,Cell4", "time=Time (s) voltage=Volt current=Amp groups=Cell1|Cell2|Cell3|Cell4"},
		{"t,V,I,Ah,Wh", "time=t voltage=V current=I"},
		{"time_s,v_batt,i_batt,i_motor,i_batt_max,ah_used,wh_regen", "time=time_s voltage=v_batt current=i_batt discharged_ah=ah_used charged_wh=wh_regen"},
		{"Record,Elapsed (s),Voltage(V),Current(A),Charge Capacity(Ah),Discharge Capacity(Ah),Step Capacity (Ah),Net Energy (Wh)", "time=Elapsed (s) voltage=Voltage(V) current=Current(A) charged_ah=Charge Capacity(Ah) discharged_ah=Discharge Capacity(Ah) net_wh=Net Energy (Wh)"},
		{"time (s),cell 1 (V),cell 2 (V),cell 3 (V),pack (V),current (A)", "time=time (s) voltage=pack (V) current=current (A) groups=cell 1 (V)|cell 2 (V)|cell 3 (V)"},
		{"time_s,pack_v,set_current_a,current_a,odometer_km,board_temp_c,cell_temp_c", "time=time_s voltage=pack_v current=current_a pack_temp=cell_temp_c odometer=odometer_km"},
	} {
		delim, point := ",", "."
		if strings.Contains(c.header, ";") {
			delim, point = ";", ","
		}
		n := strings.Count(c.header, delim) + 1
		var b strings.Builder
		b.WriteString(c.header + "\n")
		for k := range 5 {
			for i := range n {
				if i > 0 {
					b.WriteString(delim)
				}
				b.WriteString(strings.Replace([]string{"1.5", "2.5", "3.5", "4.5", "5.5"}[(k+i)%5], ".", point, 1))
			}
			b.WriteString("\n")
		}
		p, err := Propose(strings.NewReader(b.String()), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.header, err)
			continue
		}
		var got []string
		for r := Role(0); r < numRoles; r++ {
			if name := p.Mapping.columns[r]; name != "" {
				got = append(got, r.String()+"="+name)
			}
		}
		if g := strings.Join(got, " "); g != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.header, g, c.want)
		}
	}
}

// TestProposal shows ten rows as they are read.
func TestProposal(t *testing.T) {
	form := csvForm{preamble: "made up\n", header: "Zeit (ms);Spannung (mV);Strom (mA);Temperatur (\xb0F);Notiz", row: func(s sample) string {
		return "1500;41000;-2500,5;68;x"
	}}
	p, err := Propose(strings.NewReader(form.write(outing().rows[:20])), Options{Pack: testPack()})
	if err != nil {
		t.Fatal(err)
	}
	if p.Encoding != "latin-1" || p.Delimiter != "semicolon" || p.Decimal != "comma" || p.HeaderRow != 2 || p.FirstRow != 3 || len(p.Rows) != 10 {
		t.Errorf("proposal %+v", p)
	}
	if got := strings.Join(p.Rows[0], " "); got != "1.5 41 -2.5005 20" { // 68 degF is 20 degC (SP 811)
		t.Errorf("first row %q", got)
	}
	if strings.Join(p.Unused, " ") != "Notiz" {
		t.Errorf("unused %q", p.Unused)
	}
}
