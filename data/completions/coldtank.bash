# bash completion for coldtank
_coldtank() {
    local current=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD - 1]}
    local command=${COMP_WORDS[1]}
    COMPREPLY=()
    if [ "$COMP_CWORD" = 1 ]; then
        COMPREPLY=($(compgen -W "budget capacity trend saturation species sources schema starter --help --version" -- "$current"))
        return
    fi
    case $previous in
        --at) COMPREPLY=($(compgen -W "warn fail" -- "$current")); return ;;
        --units) COMPREPLY=($(compgen -W "metric us" -- "$current")); return ;;
        --species | --readings | --log | --chart) COMPREPLY=($(compgen -f -- "$current")); return ;;
        --format)
            case $command in
                budget) COMPREPLY=($(compgen -W "text markdown csv json jsonl" -- "$current")) ;;
                capacity) COMPREPLY=($(compgen -W "text markdown csv json" -- "$current")) ;;
                species) COMPREPLY=($(compgen -W "text json" -- "$current")) ;;
                *) COMPREPLY=($(compgen -W "text csv json" -- "$current")) ;;
            esac
            return ;;
        --tank | --max-age | --date | --since | --temperature | --weight | --for | --for-kg | --altitude | --altitude-ft | --pressure | --salinity | --from | --to | --step) return ;;
    esac
    local options=
    case $command in
        budget) options="--format --units --tank --species --readings --max-age --log --date --lines --quiet --explain --require-all --help" ;;
        capacity) options="--at --temperature --weight --species --for --for-kg --tank --format --units --lines --share --help" ;;
        trend) options="--tank --since --chart --format --units --help" ;;
        saturation) options="--altitude --altitude-ft --pressure --salinity --from --to --step --format --units --help" ;;
        species) options="--species --format --help" ;;
        sources) options="--format --help" ;;
        schema) options="--report --help" ;;
        starter) options="--bucket --loop --help" ;;
    esac
    case $current in
        -*) COMPREPLY=($(compgen -W "$options" -- "$current")) ;;
        *) case $command in budget | capacity | trend) COMPREPLY=($(compgen -f -- "$current")) ;; esac ;;
    esac
}
complete -o filenames -F _coldtank coldtank
