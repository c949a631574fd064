package report

// DueRule is one rule of what is due when.
type DueRule struct {
	Name      string `json:"rule"` // snake_case; a snooze may name it
	Action    Action `json:"action"`
	When      string `json:"when"`   // what raises it
	Ends      string `json:"ends"`   // what makes it go away
	Do        string `json:"do"`     // what the rider is told to do
	Source    string `json:"source"` // where the rule comes from
	Snoozable bool   `json:"snoozable"`
	AheadDays int    `json:"ahead_days"` // how far ahead it is listed

	find func(*duty) []found
}

// DueRules returns the rules in the order in which they are asked.
func DueRules() []DueRule { return append([]DueRule(nil), dueRules...) }

// Names of rules that others refer to.
const (
	ruleInspectionFailed = "inspection_failed"
	ruleBalanceHold      = "balance_hold"
)

// What is told over and over.
const (
	doOpen    = "Opening a pack is for trained people under your local codes."
	doStop    = "Do not ride, charge or open it. Keep it outdoors, away from what burns and from ways out; if it swells, smells, hisses, warms up or smokes, get away and call the fire service. Have a trained person inspect it under your local codes, and log the inspection once it has passed."
	doInspect = "Have the pack inspected by a trained person, and log the inspection and whether it passed. " + doUntil + doOpen
	doUntil   = "Until then ride with care, stop well above the low-voltage limit, and stay near while it charges. "
	doBalance = "Charge until the charger shows full and leave it on for an hour more, so that the groups balance; stay near, away from what burns and from ways out, and log the charge with its hold. Do not do it with a pack that is damaged, wet, swollen or hot, or below 0 °C (32 °F). " + doOpen
	doTest    = "Charge to full with a hold, ride one steady range test on your reference route down to the low-voltage limit and not beyond, within reach of home, and log it. " + doOpen
	doRetire  = "Take it out of use and have it collected by a battery recycler under your local codes, never in the household rubbish; log it as retired. " + doOpen

	noSource = "common practice, no source"
	// The two safety pages below were read as quoted by fire services and by
	// the agency's own page; the wording here is the project's.
	fromNFPA = "NFPA e-bike and e-scooter safety tips: stop using a battery with an unusual smell, colour, heat, shape, leak or smoke"
	fromCPSC = "U.S. CPSC, micromobility battery charging safety (4 September 2025): no packs modified or reworked by unqualified people, no used cells"
	fromEU   = "Regulation (EU) 2023/1542, Annex VII lists these quantities and events of a light vehicle's battery (its wording from memory); the level is " + noSource
)

// The levels at which the rules act. Where no source stands beside one, it is
// common practice, no source.
const (
	inspectSohPct      = 80.  // a common end of first life; Annex VII of Regulation (EU) 2023/1542 sets no level
	soonInspectedDays  = 90   // an inspection this long before a state began answers for it
	growthPerFade      = 2.5  // %/%: the 16 given NMC cells (T. Baumhöfer 2014, J. Power Sources 247, 332) show about 1.1, so this is generous
	growthExcessPct    = 50.  // above what the fade explains: a resistance doubled at 80 % is far above
	growthAlonePct     = 100. // where the fade is not known
	selfDischargeLimit = 5.   // percent a month, of the cells
	chargeHotC         = 45.  // upper end of a cell's usual charging range; IEC 62133-2 charges at up to 45 °C (from memory)
	chargeRiseC        = 20.  // above the air
	chargeColdC        = 0.   // NFPA: do not charge below 0 °C
	midCharge          = .25  // charge level above which protection has no business to open
	spreadInspectMv    = 100.
	spreadStubbornMv   = 50. // still there after a balancing hold
	spreadBalanceMv    = 30.
	groupLagMv         = 40. // of one group that is the lowest in check after check
	groupLagChecks     = 3
	groupRestDays      = 7   // between two checks that tell how groups lose charge
	holdMin            = 60. // of holding after the charger shows full, so that the cells balance
	partCharges        = 10  // after which a balancing hold is due
	deepRestDays       = 14  // at rest that count as storage
	testAgainDays      = 180 // where the model cannot tell
	firstTestDays      = 30
	wideShare          = .20 // width of the 90 % interval over its middle, where no need is stated
	wideShareNeed      = .30 // the same where the need lies outside it
	coldAirDays        = 90  // for which a charge in frosty air is told of, where the pack was not measured
)

// dueRules is the one table of what is due when, in the order of Actions.
var dueRules []DueRule

// The rules name functions that look at the table, so it is filled at the start.
func init() {
	for _, of := range []struct {
		action Action
		rules  []DueRule
	}{
		{StopRiding, stopRules()}, {Retire, retireRules()}, {Inspect, inspectRules()}, {Service, serviceRules()}, {Retest, retestRules()},
	} {
		for _, r := range of.rules {
			r.Action = of.action
			dueRules = append(dueRules, r)
		}
	}
}

// stopRules bar the pack from use until it is inspected.
func stopRules() []DueRule {
	return []DueRule{
		{
			Name: "impact_unchecked", find: eventRule("impact", "a knock (impact) was logged"), Do: doStop,
			When: "a service record impact of the pack, or of the board it was in", Ends: "an inspection that passes, at or after the impact",
			Source: noSource,
		}, {
			Name: "water_unchecked", find: eventRule("water", "water got in"), Do: doStop,
			When: "a service record water of the pack, or of the board it was in", Ends: "an inspection that passes, at or after it",
			Source: noSource,
		}, {
			Name: "warning_sign_unchecked", find: eventRule("warning_sign", "a warning sign (swelling, smell, heat, hiss or leak) was logged"), Do: doStop,
			When: "a service record warning_sign of the pack, or of the board it was in", Ends: "an inspection that passes, at or after it",
			Source: fromNFPA,
		}, {
			Name: "protection_opened_again", find: openedAgain, Do: doStop,
			When: "a second ride that ended with stop=cutoff since the last inspection that passed", Ends: "an inspection that passes",
			Source: noSource,
		}, {
			Name: "protection_opened_mid_charge", find: openedMidCharge, Do: doStop,
			When: "a ride that ended with stop=cutoff though the pack was surely above a quarter full", Ends: "an inspection that passes",
			Source: noSource,
		}, {
			Name: "capacity_lost_at_once", find: lostAtOnce, Do: doStop,
			When: "the records show that a tenth or more of the capacity went at once, as where cells come off or one group fails", Ends: "an inspection that passes, or new cells",
			Source: noSource,
		},
	}
}

// retireRules end its use.
func retireRules() []DueRule {
	return []DueRule{
		{
			Name: ruleInspectionFailed, find: inspectionFailed, Do: "Do not ride or charge it. " + doRetire,
			When: "the latest inspection of the pack did not pass", Ends: "a later inspection that passes, new cells, or the record that it is retired",
			Source: noSource,
		}, {
			Name: "health_at_retire_level", find: atRetireLevel, Do: doRetire, Snoozable: true, AheadDays: 30,
			When: "the middle of the state of health is at or below the pack's retire_soh_pct (70)", Ends: "new cells, or the record that it is retired",
			Source: "the owner's retire_soh_pct",
		}, {
			Name: "need_not_met", find: needNotMet, Do: "Plan shorter rides in the cold, or replace it. " + doRetire, Snoozable: true, AheadDays: 366,
			When: "half of what is believable of the range at the usual temperature of the coldest month is below need_range_km", Ends: "new cells, a lower need_range_km, or the record that it is retired",
			Source: "the owner's need_range_km",
		},
	}
}

// inspectRules ask for a trained eye.
func inspectRules() []DueRule {
	return []DueRule{
		{
			Name: "health_below_80", find: healthBelow80, Do: doInspect, Snoozable: true, AheadDays: 30,
			When: "the middle of the state of health is at or below 80 %", Ends: "an inspection, for a year",
			Source: fromEU,
		}, {
			Name: "resistance_above_fade", find: resistanceAboveFade, Do: "Feel plugs and leads for heat after a ride. " + doInspect, Snoozable: true,
			When: "the middle of the resistance growth is more than 50 points above two and a half times the lost capacity", Ends: "an inspection, for a year",
			Source: fromEU,
		}, {
			Name: "self_discharge_high", find: selfDischarge, Do: doInspect, Snoozable: true,
			When: "the middle of the cells' self-discharge is above 5 % a month, standby drain and relaxation left out; or between two checks at rest one series group lost that much more than the others", Ends: "an inspection, by the model for a year",
			Source: fromEU,
		}, {
			Name: "group_weak", find: groupWeak, Do: doInspect, Snoozable: true,
			When: "series groups 100 mV apart at rest, 50 mV in spite of a balancing hold, or one group 40 mV below the others in three checks (twice that near empty; lfp: only near the ends, twice that)", Ends: "an inspection, or a reading below the level",
			Source: noSource,
		}, {
			Name: "spread_grows", find: spreadGrows, Do: doInspect, Snoozable: true,
			When: "the spread at rest is half as large again as it used to be, and above 50 mV", Ends: "an inspection, or a reading below the level",
			Source: noSource,
		}, {
			Name: "charge_ended_early", find: chargeEndedEarly, Do: doInspect, Snoozable: true,
			When: "the charger finished although the pack rested 0.1 V a cell below full, or took up less than three quarters of what was ridden since it was full", Ends: "an inspection, or two later charges that end as they should",
			Source: noSource,
		}, {
			Name: "charge_too_hot", find: chargeTooHot, Do: "Let it cool before you charge it, out of the sun. " + doInspect, Snoozable: true,
			When: "the pack was above 45 °C while it charged (or the air, where the pack was not measured), or 20 K above the air", Ends: "an inspection",
			Source: "IEC 62133-2 charges cells at up to 45 °C (from memory); NFPA tips say 40 °C for the surroundings",
		}, {
			Name: "charge_too_cold", find: chargeTooCold, Do: "Warm the pack to room temperature before you charge it: below 0 °C (32 °F) metal can plate out in the cells and short them later. " + doInspect, Snoozable: true,
			When: "the pack was below 0 °C while it charged (or the air, where the pack was not measured)", Ends: "an inspection; where only the air was measured also 90 days",
			Source: "NFPA e-bike and e-scooter safety tips: do not charge below 0 °C (32 °F) or above 40 °C (105 °F)",
		}, {
			Name: "protection_opened_low", find: openedLow, Do: "Stop at the low-voltage limit, before protection opens: a board that loses its drive or brake can throw its rider. " + doInspect, Snoozable: true,
			When: "one ride ended with stop=cutoff, at low charge or where the charge is not known", Ends: "an inspection",
			Source: noSource,
		}, {
			Name: "stored_too_low", find: storedTooLow, Do: "Do not charge it before. " + doInspect, Snoozable: true,
			When: "after storage, or two weeks at rest, a cell rested below the volts at which riding must stop (3.0 V, lfp 2.7 V)", Ends: "an inspection",
			Source: fromEU,
		}, {
			Name: "cells_worked_on", find: cellsWorkedOn, Do: doInspect, Snoozable: true,
			When: "a service record repair or cells_replaced of the pack", Ends: "an inspection at or after it",
			Source: fromCPSC,
		},
	}
}

// serviceRules keep pack and board in order.
func serviceRules() []DueRule {
	return []DueRule{
		{
			Name: ruleBalanceHold, find: balanceHold, Do: doBalance, Snoozable: true,
			When: "ten part charges since the last balancing hold, or a spread at rest that has grown above 30 mV", Ends: "a full charge held for an hour, or a service record balance",
			Source: noSource,
		}, {
			Name: "board_service_km", find: boardServiceKm, Do: "Service the board, and log an inspection or a repair of it.", Snoozable: true, AheadDays: 30,
			When: "the board has gone service_every_km since its last service, by its odometer and with every pack", Ends: "a service record inspection or repair of the board",
			Source: "the owner's service_every_km",
		}, {
			Name: "board_service_days", find: boardServiceDays, Do: "Service the board, and log an inspection or a repair of it.", Snoozable: true, AheadDays: 30,
			When: "service_every_days have passed since the board's last service", Ends: "a service record inspection or repair of the board",
			Source: "the owner's service_every_days",
		},
	}
}

// retestRules keep its figures known.
func retestRules() []DueRule {
	return []DueRule{
		{
			Name: "range_uncertain", find: rangeUncertain, Do: doTest, Snoozable: true, AheadDays: 365,
			When: "need_range_km lies within the 90 % interval of the range, or that is wider than 20 % of its middle (30 % where a need is given and lies outside), and a test would narrow it", Ends: "a range test, or other records that narrow the interval",
			Source: "the model; the shares are " + noSource,
		}, {
			Name: "test_long_ago", find: testLongAgo, Do: doTest, Snoozable: true, AheadDays: 30,
			When: "the model cannot tell the range yet, and the last ride from full to the limit was 180 days ago (or none in the first 30 days)", Ends: "a ride from full to the limit",
			Source: noSource,
		},
	}
}
