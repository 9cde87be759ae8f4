# fish completion for coldtank
complete -c coldtank -f -n __fish_use_subcommand -a budget -d 'one budget a tank'
complete -c coldtank -f -n __fish_use_subcommand -a capacity -d 'how many fish each tank can carry'
complete -c coldtank -f -n __fish_use_subcommand -a trend -d 'what the logbook shows'
complete -c coldtank -f -n __fish_use_subcommand -a saturation -d 'a card of oxygen saturation'
complete -c coldtank -f -n __fish_use_subcommand -a species -d 'the species and their limits'
complete -c coldtank -f -n __fish_use_subcommand -a sources -d 'every coefficient with its source'
complete -c coldtank -f -n __fish_use_subcommand -a schema -d 'a JSON Schema of the description'
complete -c coldtank -f -n __fish_use_subcommand -a starter -d 'a description to begin from'
complete -c coldtank -l help -d 'help'
complete -c coldtank -n '__fish_seen_subcommand_from budget capacity trend' -F
complete -c coldtank -n '__fish_seen_subcommand_from budget' -x -l format -a 'text markdown csv json jsonl'
complete -c coldtank -n '__fish_seen_subcommand_from budget capacity trend saturation' -x -l units -a 'metric us'
complete -c coldtank -n '__fish_seen_subcommand_from budget capacity trend' -x -l tank
complete -c coldtank -n '__fish_seen_subcommand_from budget capacity species' -r -l species
complete -c coldtank -n '__fish_seen_subcommand_from budget capacity' -f -l lines
complete -c coldtank -n '__fish_seen_subcommand_from budget' -f -l quiet
complete -c coldtank -n '__fish_seen_subcommand_from budget' -f -l explain
complete -c coldtank -n '__fish_seen_subcommand_from budget' -f -l require-all
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l altitude
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l altitude-ft
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l pressure
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l salinity
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l from
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l to
complete -c coldtank -n '__fish_seen_subcommand_from saturation' -x -l step
complete -c coldtank -n '__fish_seen_subcommand_from species' -x -l format -a 'text json'
complete -c coldtank -n '__fish_seen_subcommand_from trend saturation sources' -x -l format -a 'text csv json'
complete -c coldtank -n '__fish_seen_subcommand_from schema' -f -l report
complete -c coldtank -n '__fish_seen_subcommand_from starter' -f -l bucket
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -x -l format -a 'text markdown csv json'
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -x -l at -a 'warn fail'
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -x -l temperature
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -x -l weight
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -x -l for
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -x -l for-kg
complete -c coldtank -n '__fish_seen_subcommand_from capacity' -f -l share
complete -c coldtank -n '__fish_seen_subcommand_from starter' -f -l loop
complete -c coldtank -n '__fish_seen_subcommand_from budget' -r -l readings
complete -c coldtank -n '__fish_seen_subcommand_from budget' -x -l max-age
complete -c coldtank -n '__fish_seen_subcommand_from budget' -r -l log
complete -c coldtank -n '__fish_seen_subcommand_from budget' -x -l date
complete -c coldtank -n '__fish_seen_subcommand_from trend' -x -l since
complete -c coldtank -n '__fish_seen_subcommand_from trend' -r -l chart
