module farhail

go 1.26.0

require (
	codeberg.org/go-pdf/fpdf v0.12.0
	github.com/chromedp/cdproto v0.159.0
	github.com/chromedp/chromedp v0.23.0
	github.com/goccy/go-yaml v1.19.2
	github.com/golang/geo v0.0.0-20260818125358-b200a1149890
	github.com/klauspost/compress v1.20.4
	github.com/paulmach/orb v0.14.0
	github.com/peterstace/simplefeatures v0.59.0
	github.com/rogpeppe/go-internal v1.16.0
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3
	github.com/soniakeys/meeus/v3 v3.0.1
	github.com/soniakeys/unit v1.0.0
	github.com/spf13/cobra v1.10.2
	github.com/spf13/pflag v1.0.9
	github.com/stretchr/testify v1.12.1
	github.com/tidwall/geodesic v1.52.4
	github.com/tkrajina/gpxgo v1.4.0
	github.com/twpayne/go-kml/v3 v3.2.1
	github.com/tzneal/coordconv v0.1.2
	go.uber.org/goleak v1.3.0
	golang.org/x/image v0.47.0
	golang.org/x/net v0.62.0
	golang.org/x/sync v0.25.0
	golang.org/x/term v0.48.0
	golang.org/x/text v0.44.0
	gonum.org/v1/gonum v0.17.0
	pgregory.net/rapid v1.3.0
)

require (
	github.com/go-json-experiment/json v0.0.0-20260213210345-44df1a37e875 // indirect
	github.com/inconshreveable/mousetrap v1.1.0 // indirect
	go.mongodb.org/mongo-driver/v2 v2.5.0 // indirect
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/sys v0.50.0 // indirect
	golang.org/x/tools v0.52.0 // indirect
)
