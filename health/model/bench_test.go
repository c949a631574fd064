package model_test

import (
	"testing"

	"packwane/health/logbook"
	"packwane/health/model"
	"packwane/health/report"
	"packwane/health/simulate"
)

// historyOf simulates a log of about so many records: a rider who writes
// everything down makes some 250 a year or more.
func historyOf(b *testing.B, records int) *logbook.History {
	cfg := simulate.Preset(simulate.Rich, firstKeptBack)
	cfg.Years = float64(records) / 240
	log, err := simulate.Run(cfg)
	if err != nil {
		b.Fatal(err)
	}
	if len(log.Records) < records {
		b.Fatalf("%d records only, want %d", len(log.Records), records)
	}
	h, err := logbook.NewHistory(cfg.Pack.ID, log.Records, logbook.EndOf(log.Records[records-1]))
	if err != nil {
		b.Fatal(err)
	}
	return h
}

func benchmarkFit(b *testing.B, records int) {
	h := historyOf(b, records)
	b.ReportAllocs()
	for b.Loop() {
		model.FitHistory(h, nil)
	}
}

// The fit alone, of two years and of ten and more.
func BenchmarkFit600(b *testing.B)  { benchmarkFit(b, 600) }
func BenchmarkFit6000(b *testing.B) { benchmarkFit(b, 6000) }

// BenchmarkHealth600 is all of the answer to "what is this pack now?", cold.
func BenchmarkHealth600(b *testing.B) {
	h := historyOf(b, 600)
	b.ReportAllocs()
	for b.Loop() {
		report.HealthOf(h, model.FitHistory(h, nil))
	}
}

// What a kept fit costs to be asked again: restored, and with the answer.
func BenchmarkRestore600(b *testing.B) {
	h := historyOf(b, 600)
	data := model.FitHistory(h, nil).Keep()
	b.ReportAllocs()
	for b.Loop() {
		model.Restore(h, data, nil)
	}
}

func BenchmarkKeptHealth600(b *testing.B) {
	benchmarkKept(b, 600, func(h *logbook.History, fit *model.Fit) { report.HealthOf(h, fit) })
}

func BenchmarkKeptDue600(b *testing.B) {
	benchmarkKept(b, 600, func(h *logbook.History, fit *model.Fit) { report.DueOf(h, fit, h.AsOf) })
}

func BenchmarkKeptDue6000(b *testing.B) {
	benchmarkKept(b, 6000, func(h *logbook.History, fit *model.Fit) { report.DueOf(h, fit, h.AsOf) })
}

func benchmarkKept(b *testing.B, records int, ask func(*logbook.History, *model.Fit)) {
	h := historyOf(b, records)
	data := model.FitHistory(h, nil).Keep()
	b.ReportAllocs()
	for b.Loop() {
		fit, ok := model.Restore(h, data, nil)
		if !ok {
			b.Fatal("the kept fit was refused")
		}
		ask(h, fit)
	}
}

func BenchmarkKey6000(b *testing.B) {
	h := historyOf(b, 6000)
	for b.Loop() {
		model.Key(h)
	}
}
