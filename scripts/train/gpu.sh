#!/bin/bash
# Trains models side by side on a machine with two GPUs and no network; argument: seconds for each process.
# Expects .train/ (alphabet.txt, words.txt, atlas.npz.xz, the published base_rec.onnx and base_det.onnx, plan.sh and, to go on, state/) and .whl/ (onnx2torch); leaves states and logs in $OUT.
set -u
scratch=$(mktemp -d)
python3 -m pip install -q --no-index --no-deps --no-compile --no-cache-dir --upgrade --target $scratch/site .whl/*.whl || exit 1
export PYTHONPATH=$scratch/site PYTHONUNBUFFERED=1 OMP_NUM_THREADS=4 PYTHONWARNINGS=ignore
data=$scratch/data; mkdir -p $data
cp .train/alphabet.txt .train/words.txt .train/base_rec.onnx .train/base_det.onnx $data/
python3 -c "import lzma, shutil; shutil.copyfileobj(lzma.open('.train/atlas.npz.xz'), open('$data/atlas.npz', 'wb'))"
nvidia-smi -L; nproc
SECONDS_EACH=$1
# run GPU NAME SCRIPT ARGUMENTS...: one training process with its log
run() {
  gpu=$1; name=$2; script=$3; shift 3
  CUDA_VISIBLE_DEVICES=$gpu timeout $((SECONDS_EACH + 25)) python3 scripts/train/$script --data $data --out $OUT --resume .train/state --seconds $SECONDS_EACH "$@" > $OUT/$name.log 2>&1 &
}
. .train/plan.sh  # which processes, for example: run 0 rec train.py --kind rec --plan 520
wait
for f in $OUT/*.log; do echo "== $f"; tail -n 25 $f | cut -c1-330; done
