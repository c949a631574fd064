module packwane

go 1.26.0

require (
	github.com/adrg/xdg v0.5.3
	github.com/arran4/golang-ical v0.3.4
	github.com/cespare/xxhash/v2 v2.3.0
	github.com/chromedp/cdproto v0.159.0
	github.com/chromedp/chromedp v0.23.0
	github.com/golang/freetype v0.0.0-20170609003504-e2365dfdc4a0
	github.com/klauspost/compress v1.20.4
	github.com/rivo/uniseg v0.4.7
	github.com/rogpeppe/go-internal v1.16.0
	github.com/schollz/progressbar/v3 v3.19.1
	github.com/spf13/cobra v1.10.2
	github.com/spf13/pflag v1.0.10
	github.com/wcharczuk/go-chart/v2 v2.1.2
	go.etcd.io/bbolt v1.5.0
	golang.org/x/image v0.47.0
	golang.org/x/sys v0.50.0
	golang.org/x/term v0.48.0
	golang.org/x/text v0.44.0
	gonum.org/v1/gonum v0.17.0
)

require (
	github.com/go-json-experiment/json v0.0.0-20260213210345-44df1a37e875 // indirect
	github.com/hanwen/go-fuse/v2 v2.12.1
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	github.com/mitchellh/colorstring v0.0.0-20190213212951-d06e56a500db // indirect
	golang.org/x/tools v0.52.0 // indirect
)
