# The books that the lines of tries.tsv are typed on. Each begins with what the one before it holds.

## empty

## early
fettle make add machine big-orbital --action orbital --throw 21 --thread M8 --max-speed 4800/min --work-speed 4200
fettle make add machine small-battery --action orbital --throw 12 --thread M8 --max-speed 4800 --spot
fettle make add plate plate-125 --diameter 125 --thread M8 --rated-speed 12000/min
fettle make add plate plate-75 --diameter 75 --thread M8 --rated-speed 12000/min
fettle make add sundry gloves --holds '50 pairs' --price '12 EUR'

## bare
fettle make add pad wool-150 --material wool --grade coarse --face 150 --price 14.50
fettle make add pad foam-85 --material thin-foam --grade medium --face 85 --price 7.20
fettle make add pad foam-polish-165 --material thin-foam --grade fine --face 165
fettle make add liquid compound --grade coarse --bottle 1l --prime 7 --refresh 4
fettle make add liquid polish --grade fine --bottle 500ml --prime 7 --refresh 4
fettle make add towel towel-white --weight 380 --price 32 --pack 24
fettle make add sundry gloves-box --holds '50 pairs'
fettle make add sundry panel-wipe --holds 1l
fettle make add sundry masking-tape --holds 50m
fettle make add sundry brush --holds 1
fettle receive big-orbital
fettle receive small-battery
fettle receive plate-125 2
fettle receive plate-75
fettle receive wool-150 9
fettle receive foam-85 14
fettle receive foam-polish-165 6
fettle receive compound
fettle receive polish 2
fettle receive towel-white --towels 12
fettle receive gloves
fettle receive panel-wipe
fettle receive gloves-box
fettle receive masking-tape
fettle receive brush 2
fettle receive gloves
fettle move P-20..P-23 --to van-a --new-place
fettle car add black-suv --class city
fettle car add white-van --class van
fettle routine add two-step --step 'cut: machine=big-orbital, pad=wool-150, liquid=compound' --step 'polish: machine=big-orbital, pad=foam-polish-165, liquid=polish' --towel towel-white --sundry 'gloves-box=1 pair'
fettle supplier add liquid-depot --lead 5days --freight 9.50
fettle supplier price liquid-depot compound 38
mkdir imp imp2
printf 'tag,make,place,work,jobs,washes,status,reason,date\nP-1x,nowhere,bench,many,,x,clean?,,soon\n' > imp/few.csv
printf 'tag;make;place;work;jobs;washes;status;reason;date\nP-90;wool-150;bench;3;;1;ready;;\n' > imp/semi.csv
printf 'make,name,pad.material,pad.grade,pad.face_mm\nwool-80,Wool,velvet,coarse,80\nwool-90,Wool,wool,coarse,wide\n' > imp2/makes.csv

## booked
fettle make add liquid one-step --grade medium --bottle 250ml
fettle job add estate-mon --car black-suv --routine two-step --start 'tomorrow 06:00'
fettle job add suv-thu --car black-suv --routine two-step --start '+2 days'
fettle job add hatch-fri --car black-suv --routine two-step --start '+3 days'
fettle job add hatch-tue --car black-suv --routine two-step --start '+4 days'
fettle job add van-sat --car white-van --routine two-step --start '+5 days'
fettle job add walk-in --car white-van --routine two-step --start '+6 days'

## shop
fettle car add grey-estate --class estate
fettle routine add one-step --step 'one: machine=big-orbital, pad=foam-polish-165, liquid=one-step'
fettle supplier add pad-shop --lead 3days --freight 6.90 --free-from '80 EUR'
fettle log hatch-fri
fettle wash all
fettle kit dry all
fettle log suv-thu
fettle wash all
fettle kit dry all
fettle log estate-mon
fettle order add liquid-depot compound=1 --placed
fettle receive order-1
fettle wash P-06 P-07
fettle kit dry P-06 P-07
fettle book backup --to stick

## cut
f=$(ls book/journal/*.jsonl | tail -1); sed -i '$d' "$f"
