package plan

// Defaults of a plan, each of which outputs print among their inputs. Those
// marked "own choice" have no published source.
const (
	DefaultVisibilityM     = 10000                  // own choice; the lower end of what weather reports call good
	DefaultRefraction      = 0.13                   // geo/earth.DefaultRefraction
	DefaultCloud           = "clear"                // own choice
	DefaultSigmaDistance   = 0.05                   // own choice
	DefaultSigmaBearingDeg = 3                      // own choice
	DefaultScaleBias       = 0.03                   // own choice: a pace count taken on other ground
	DefaultBearingBiasDeg  = 2                      // own choice: a declination or a compass read askew
	DefaultRule            = "irmischer-clarke-off" // off paths, because people who are lost often are
	DefaultSlow            = 0.6                    // own choice
	DefaultUsual           = 1.0                    // the rule as published
	DefaultFast            = 1.4                    // own choice
	DefaultSignalHeightM   = 1.5                    // own choice: held at the chest
	DefaultEyeHeightM      = 1.7                    // own choice: a standing adult
	DefaultReflectance     = 0.4                    // own choice: orange cloth
	DefaultBackground      = 0.05                   // own choice: dark vegetation
	DefaultWindMS          = 2.0                    // own choice: a light breeze
	DefaultStability       = "D"                    // own choice: neutral, as under cloud or in wind
	DefaultColumn          = "white"                // own choice: the smoke of damp or green wood
	DefaultBedM            = 0.5                    // own choice
	DefaultPeople          = 1                      // a party or a lookout is at least somebody
	DefaultCount           = 3                      // own choice
	DefaultSpacingM        = 500                    // own choice
	DefaultWithinM         = 1000                   // own choice
	DefaultSeed            = 1                      // own choice
	DefaultMapWithinM      = 10000                  // own choice: half the side of the map of likelihood
	DefaultLeastM2         = 0.1e6                  // own choice: of an area that one party searches
	DefaultMostM2          = 1.0e6                  // own choice
	DefaultCourseSDDeg     = 15                     // own choice
	DefaultGoneSD          = 0.3                    // own choice, as a share of the distance gone on
	DefaultDirectionSDDeg  = 45                     // own choice
	DefaultTurnSDDeg       = 40                     // own choice: turns of people who do not know where they are, by the minute
	DefaultPullWidthM      = 100                    // own choice
	DefaultMaxSlopeDeg     = 35                     // own choice: the steepest that a line of searchers is sent over
	DefaultSearchSpeedMS   = 2 / 3.6                // own choice: 2 km/h, as for a pass
)
