#!/bin/bash
# One stage after the other on a machine with four GPUs and 64 cores, in 9.4 minutes: how the difference that ships was made.
#   bash voice_models/training/stages.sh CARRIED OUT          from the checkout; Kokoro unpacked in /tmp/ear before (README.md)
#   bash voice_models/training/stages.sh --hear CANDIDATE OUT the report split and all of the choose split, with one of them
# `training.run` does the same with rendering beside training: on 64 cores that kept the training waiting (0.7 s a step
# instead of 0.26). Here everything that is trained on is rendered first.
W=/tmp/ear
export PYTHONPATH=$W/site:voice_models:tests:. TRAINING_VOICES=$W/voices PYTHONDONTWRITEBYTECODE=1 OMP_NUM_THREADS=1
began=$(date +%s)
plain=$W/plain log=$W/log
say() { echo "[$(($(date +%s) - began))] $*"; }
left() { echo $((began + $1 - $(date +%s))); }
hear() { # SPLIT NAME WEIGHTS JOBS SECONDS
    timeout $(($5 + 25)) python3 -m ears.listen $W/heard/$1 --out $W/h/$1-$2.jsonl.gz --ear $3 --jobs $4 --seconds $5 \
        --split $1 >$log/hear-$1-$2.txt 2>&1
    say "heard $1 with $2: $(tail -2 $log/hear-$1-$2.txt | tr '\n' ' ')"
}

if [ "$1" = --hear ]; then
    mv $W/h/choose-$2.jsonl.gz $W/h/some-$2.jsonl.gz
    hear report $2 $W/c/$2 64 125
    hear choose $2 $W/c/$2 64 45
    cp $W/c/$2/ear.diff $W/h/{report,choose}-{$2,plain}.jsonl.gz $3
    exit
fi

carried=$1 out=$2
mkdir -p $W/speech $W/heard $W/h $W/c $W/trained $log
python3 -m pip install -q --no-index --no-deps --no-compile --no-cache-dir --target $W/site "$carried"/wheels/*.whl
tar xJf "$carried/voices.tar.xz" -C $W
python3 -m training.pack "$carried" --unpack $plain >$log/unpack.txt 2>&1
say unpacked

render() { # SPLIT FOLDER HOURS JOBS SEED ENGINES SECONDS
    timeout $7 python3 -m training.render --split $1 --out $2 --hours $3 --jobs $4 --seed $5 ${6:+--engines $6} \
        >$log/render-$(basename $2).txt 2>&1
    say "rendered $2: $?"
}
render train $W/speech/k0 0.6 44 11 kokoro 150 &
render train $W/speech/f0 6 10 12 espeak,flite,hibari 120 &
render train $W/speech/f1 5 9 13 espeak,flite,hibari 120 &
wait

minutes=$(python3 -c "print(round($(left 438) / 60, 2))")
train() { # GPU NAME OPTIONS
    CUDA_VISIBLE_DEVICES=$1 OMP_NUM_THREADS=3 python3 -m training.train $W/speech $W/trained/$2.npz --weights $plain \
        --minutes $minutes --seed 2$1 --rows 256 --sound 1280 "${@:3}" >$log/train-$2.txt 2>&1
    say "trained $2: $?"
}
train 0 whole --rate 5e-4 --distil 0.5 &
train 1 held --rate 5e-4 --distil 1.0 --anchor 1.0 &
train 2 low --rank 48 --rate 1.2e-3 --distil 0.5 &
train 3 wide --rank 96 --rate 1.2e-3 --distil 1.0 &
(
    render choose $W/heard/choose 0.45 14 4241 "" 250 &
    render report $W/heard/report 1.2 26 4242 "" 260 &
    wait
    hear report plain $plain 36 $(($(left 425) * 6 / 10))
    hear choose plain $plain 36 $(left 425)
) &
wait

names="whole-0.5 whole-0.75 held-0.5 held-0.75 low-0.6 low-0.9 wide-0.6 wide-0.9"
for name in $names; do
    python3 -m training.candidates $W/c --trained $W/trained/${name%-*}.npz --scales ${name#*-} --weights $plain >$log/make-$name.txt 2>&1 &
done
for plan in whole held low wide; do
    python3 -m training.candidates $W --trained $W/trained/$plan.npz --weights $plain --keep "$out" >$log/keep-$plan.txt 2>&1 &
done
wait
for name in $names; do hear choose $name $W/c/$name 8 $(left 548) & done
wait
for name in plain $names; do python3 -m training.pick $W/h/choose-$name.jsonl.gz >$log/pick-$name.txt 2>&1 & done
wait
for name in plain $names; do echo "$name: $(tail -1 $log/pick-$name.txt)"; done
tar cf "$out/hearings.tar" -C $W h
tar czf "$out/log.tgz" -C $W log
say over
