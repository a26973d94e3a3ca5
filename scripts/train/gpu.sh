#!/bin/bash
# Trains models side by side on a machine with GPUs and no network; argument: seconds for all of it.
# Expects .train/ (alphabet.txt, words.txt, atlas.npz.xz as atlas.py makes it and xz packs it, the published base_rec.onnx and, for the detector, base_det.onnx, plan.sh and,
# to go on, state/NAME) and .whl/ (onnx2torch). Leaves a NAME.tar for each training and logs.txt in $OUT.
set -u
here=$(cd "$(dirname "$0")" && pwd)
scratch=$(mktemp -d)
python3 -m pip install -q --no-index --no-deps --no-compile --no-cache-dir --upgrade --target $scratch/site .whl/*.whl || exit 1
export PYTHONPATH=$scratch/site PYTHONUNBUFFERED=1 OMP_NUM_THREADS=4 PYTHONWARNINGS=ignore
data=$scratch/data; mkdir -p $data $scratch/logs
cp .train/alphabet.txt .train/words.txt .train/base_*.onnx $data/
nvidia-smi -L; nproc
xz -dc .train/atlas.npz.xz > $data/atlas.npz || exit 1
left=$(($1 - SECONDS - 20))
# run GPU NAME SCRIPT ARGUMENTS...: one training process with its log
run() {
  local gpu=$1 name=$2 script=$3; shift 3
  mkdir -p $scratch/state/$name
  CUDA_VISIBLE_DEVICES=$gpu timeout $((left + 15)) python3 $here/$script --data $data --out $scratch/state/$name --resume .train/state/$name --seconds $left "$@" > $scratch/logs/$name 2>&1 &
}
. .train/plan.sh  # which processes, for example: run 0 first train.py --kind rec --plan 1000
wait
for state in $scratch/state/*/; do tar cf $OUT/$(basename $state).tar -C $state .; done
for f in $scratch/logs/*; do echo "== $f"; cat $f; done > $OUT/logs.txt
for f in $scratch/logs/*; do echo "== $f"; tail -n 6 $f | cut -c1-330; done
